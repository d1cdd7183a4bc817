import type { ChildProcessWithoutNullStreams } from 'node:child_process';
import { errorCodeOf } from '../files/fileProblem.js';
import { Patience } from './patience.js';
import { endGroup, startGroup } from './processGroup.js';

export type GroupRun = {
  path: string;
  args: readonly string[];
  /** The pieces for its standard input, fed as fast as it accepts them. */
  input: Iterable<Uint8Array> | AsyncIterable<Uint8Array>;
  /** How long it may neither accept input nor write anything while it could. */
  silentMs: number;
  /** How long it may take in all; waiting for its input does not count. */
  wholeMs: number;
  /** A program that writes more than this is killed. */
  mostOutputBytes: number;
};

/** The result of a run, with what it wrote to standard error, or the last part of it if that was long. */
export type GroupOutcome = { log: string } & (
  | { kind: 'done'; output: Buffer }
  /** It ended by itself with an error. */
  | { kind: 'exit'; code: number }
  | { kind: 'signal'; signal: string }
  /** It was killed, with everything it had started. */
  | { kind: 'no-answer' }
  | { kind: 'too-much' }
  | { kind: 'not-started'; code: string | null }
);
type Ending = GroupOutcome extends infer Each ? (Each extends unknown ? Omit<Each, 'log'> : never) : never;

const mostLogCharacters = 8_000_000;

/**
 * Runs a program to its end and returns its standard output. It has succeeded when it has exited with 0 and no more
 * output can come, however long after its last byte that is. Once this settles, nothing of it is running.
 *
 * @throws anything that the input throws; the program is then killed
 */
export async function runInGroup(run: GroupRun): Promise<GroupOutcome> {
  const chunks: Buffer[] = [];
  let log = '';
  let child: ChildProcessWithoutNullStreams;
  try {
    child = startGroup(run.path, run.args);
  } catch (error) {
    return { kind: 'not-started', code: errorCodeOf(error) ?? null, log: '' };
  }
  const { stdin, stdout, stderr } = child;
  let settled = false;
  const ending = await new Promise<Ending>((resolve, reject) => {
    const settle = (finish: () => void) => {
      if (settled) return;
      settled = true;
      patience.end();
      finish();
    };
    /**
     * Does not wait for the program: one that cannot be killed, such as one that waits for a disk, must not hold up
     * anyone.
     */
    const stop = (finish: () => void) =>
      settle(() => {
        endGroup(child);
        for (const stream of [stdin, stdout, stderr]) stream.destroy();
        finish();
      });
    const patience = new Patience(run, () => stop(() => resolve({ kind: 'no-answer' })));
    let bytes = 0;
    stdout.on('data', (chunk: Buffer) => {
      patience.beat();
      bytes += chunk.length;
      if (bytes > run.mostOutputBytes) stop(() => resolve({ kind: 'too-much' }));
      else chunks.push(chunk);
    });
    stderr.setEncoding('utf8').on('data', (text: string) => {
      patience.beat();
      log += text;
      if (log.length > 2 * mostLogCharacters) log = log.slice(-mostLogCharacters);
    });
    // A program that does not read its input closes it; its exit tells whether that was right.
    stdin.on('error', () => undefined);
    child.once('error', (error) =>
      settle(() => resolve({ kind: 'not-started', code: errorCodeOf(error) ?? null })),
    );
    child.once('close', (code, signal) =>
      settle(() => {
        if (code === 0) resolve({ kind: 'done', output: Buffer.concat(chunks) });
        else resolve(code === null ? { kind: 'signal', signal: String(signal) } : { kind: 'exit', code });
      }),
    );
    feed(child, run.input, patience, () => settled).catch((error: unknown) => stop(() => reject(error)));
  });
  return { ...ending, log };
}

/** Feeds a program its whole input, or as much as it accepts. */
async function feed(
  { stdin }: ChildProcessWithoutNullStreams,
  input: GroupRun['input'],
  patience: Patience,
  isOver: () => boolean,
): Promise<void> {
  for await (const piece of input) {
    if (isOver()) return;
    if (!stdin.writable) break;
    if (stdin.write(piece)) continue;
    patience.begin();
    await drained(stdin);
    patience.end();
  }
  if (isOver()) return;
  patience.begin();
  stdin.end();
}

/** Settles when the program can accept more input, or accepts no more at all. */
function drained(stdin: NodeJS.WritableStream): Promise<void> {
  return new Promise((resolve) => {
    const events = ['drain', 'close', 'error'];
    const settle = () => {
      for (const event of events) stdin.off(event, settle);
      resolve();
    };
    for (const event of events) stdin.on(event, settle);
  });
}

/** Returns the last lines that are not empty, joined into one; empty when there are none. */
export function lastLines(output: string, count: number): string {
  const lines = output.split(/[\r\n]+/).map((line) => line.trim());
  return lines
    .filter((line) => line !== '')
    .slice(-count)
    .map((line) => line.slice(0, 300))
    .join(' / ');
}
