import { type ChildProcess, spawn } from 'node:child_process';
import { resolve } from 'node:path';

export type Run = { code: number | null; stdout: string; stderr: string };

/** Starts the command line as a person would, in its own process. */
export function startStillcount(args: readonly string[], environment: NodeJS.ProcessEnv = {}): ChildProcess {
  const main = resolve('src/cli/main.ts');
  return spawn(process.execPath, ['--import', 'tsx', main, ...args], {
    env: { ...process.env, ...environment },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
}

/** Runs one command line to its end. */
export function runStillcount(args: readonly string[], environment: NodeJS.ProcessEnv = {}): Promise<Run> {
  return finished(startStillcount(args, environment));
}

/** What a process printed and how it ended. */
export function finished(child: ChildProcess): Promise<Run> {
  return new Promise((resolveRun, reject) => {
    let stdout = '';
    let stderr = '';
    child.stdout?.on('data', (chunk: Buffer) => {
      stdout += chunk.toString();
    });
    child.stderr?.on('data', (chunk: Buffer) => {
      stderr += chunk.toString();
    });
    child.on('error', reject);
    child.on('close', (code) => resolveRun({ code, stdout, stderr }));
  });
}
