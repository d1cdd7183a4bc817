import { type ChildProcess, spawn } from 'node:child_process';
import { workError } from '../../errors/stillcountError.js';

export type ProgramRun = {
  /** As shown to a person. */
  name: string;
  path: string;
  args: readonly string[];
  stdin: string;
  timeoutMs: number;
};

/** About six minutes of CD-quality sound: far more than any phrase, and a stop for a program that never ends. */
const mostOutputBytes = 64 * 1024 * 1024;
const mostMessageCharacters = 20_000;

const ownGroup = process.platform !== 'win32';
const running = new Set<ChildProcess>();
process.on('exit', () => {
  for (const child of running) end(child);
});

/**
 * Runs a program without a shell and gives what it wrote to its standard output.
 *
 * @throws StillcountError kind `work` with the program's name and the last line it said: when it cannot start,
 * ends with an error, is ended by a signal, takes longer than allowed, or writes without end.
 */
export function runProgram(run: ProgramRun): Promise<Buffer> {
  return new Promise((resolve, reject) => {
    // A group of its own, so that whatever the program started ends with it.
    const child = spawn(run.path, [...run.args], { detached: ownGroup, windowsHide: true, stdio: 'pipe' });
    running.add(child);
    const chunks: Buffer[] = [];
    let size = 0;
    let said = '';
    const fail = (message: string, cause?: unknown) => {
      settle();
      end(child);
      child.stdout.destroy();
      child.stderr.destroy();
      const lastLine = said.trim().split(/\r?\n/).at(-1)?.slice(0, 300) ?? '';
      const problem = { message: `The voice program ${run.name} ${message}.` };
      reject(workError(lastLine === '' ? problem : { ...problem, found: lastLine }, cause));
    };
    const settle = () => {
      clearTimeout(timer);
      running.delete(child);
    };
    const timer = setTimeout(() => fail(`took longer than ${run.timeoutMs / 1000} s`), run.timeoutMs);
    child.stdout.on('data', (chunk: Buffer) => {
      size += chunk.length;
      if (size > mostOutputBytes) fail('wrote without end');
      else chunks.push(chunk);
    });
    child.stderr.on('data', (chunk: Buffer) => {
      said = (said + chunk.toString('utf8')).slice(-mostMessageCharacters);
    });
    // A program that does not read its input closes it; what it answers tells whether that was right.
    child.stdin.on('error', () => undefined);
    child.once('error', (error) => fail(`could not be started (${error.message})`, error));
    child.once('close', (code, signal) => {
      if (code === 0) {
        settle();
        resolve(Buffer.concat(chunks));
      } else fail(code === null ? `was ended by ${signal}` : `ended with exit code ${code}`);
    });
    child.stdin.end(run.stdin);
  });
}

function end(child: ChildProcess): void {
  if (child.pid === undefined || child.exitCode !== null || child.signalCode !== null) return;
  try {
    process.kill(ownGroup ? -child.pid : child.pid, 'SIGKILL');
  } catch {
    child.kill('SIGKILL');
  }
}
