import { spawn } from 'node:child_process';

/** One part of the check: a tool, and a note to print beside its time. */
export type Part = { title: string; command: string; words: readonly string[]; note?: string };

export type PartResult = { title: string; code: number; tookMs: number; output: string; note: string };

/**
 * Runs parts in parallel, starting them in order.
 *
 * @param lanes how many run at once
 * @param told called with each part as it ends
 */
export async function runParts(
  parts: readonly Part[],
  lanes: number,
  told: (result: PartResult) => void,
): Promise<PartResult[]> {
  const waiting = [...parts];
  const results: PartResult[] = [];
  const work = async () => {
    for (let part = waiting.shift(); part !== undefined; part = waiting.shift()) {
      const result = await runPart(part);
      results.push(result);
      told(result);
    }
  };
  await Promise.all(Array.from({ length: lanes }, work));
  return results;
}

/** Formats one line for a finished part; if it failed, its output comes above. */
export function lineOf({ title, code, tookMs, output, note }: PartResult): string {
  const seconds = `${(tookMs / 1000).toFixed(1)} s`.padStart(8);
  const line = `${code === 0 ? 'ok    ' : 'FAILED'}  ${title.padEnd(12)}${seconds}${note === '' ? '' : `  ${note}`}`;
  return code === 0 ? line : `\n${output.trim()}\n${line}`;
}

function runPart({ title, command, words, note = '' }: Part): Promise<PartResult> {
  const beganMs = performance.now();
  return new Promise((resolve) => {
    const said: Buffer[] = [];
    const end = (code: number, last = '') => {
      const output = `${Buffer.concat(said).toString()}${last}`;
      resolve({ title, code, tookMs: performance.now() - beganMs, output, note });
    };
    const child = spawn(command, words, { shell: process.platform === 'win32' });
    child.stdout.on('data', (chunk: Buffer) => said.push(chunk));
    child.stderr.on('data', (chunk: Buffer) => said.push(chunk));
    child.on('error', (error) => end(1, error.message));
    child.on('close', (code) => end(code ?? 1));
  });
}
