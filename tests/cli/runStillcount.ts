import { type ChildProcess, spawn } from 'node:child_process';
import { resolve } from 'node:path';

export type Run = { code: number | null; stdout: string; stderr: string };

/** Starts the command line as a person would, in its own process, with something on its standard input. */
export function startStillcount(
  args: readonly string[],
  environment: NodeJS.ProcessEnv = {},
  input: string | Buffer = '',
): ChildProcess {
  const child = spawn(process.execPath, [resolve('dist', 'cli', 'main.js'), ...args], {
    env: { ...process.env, ...environment },
    stdio: 'pipe',
  });
  child.stdin.on('error', () => undefined);
  child.stdin.end(input);
  return child;
}

/** Runs one command line to its end, with something on its standard input. */
export function runStillcount(
  args: readonly string[],
  environment: NodeJS.ProcessEnv = {},
  input: string | Buffer = '',
): Promise<Run> {
  return finished(startStillcount(args, environment, input));
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
