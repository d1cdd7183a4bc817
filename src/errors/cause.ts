import { StillcountError } from './stillcountError.js';

const mostLetters = 160;
const mostFrames = 5;

/** The cause in plain words where they are ours, else the kind of error: its message may hold anything. */
export function causeOf(error: unknown): string {
  if (typeof error === 'string') return error;
  if (error instanceof StillcountError) {
    // What stands in quotes may be spoken text, with names.
    const plain = (error.problems[0]?.message ?? error.name).replaceAll(/“[^”]*”/g, '“…”');
    return plain.slice(0, mostLetters).replace(/[.]$/, '');
  }
  if (!(error instanceof Error)) return 'thrown';
  const code = 'code' in error && typeof error.code === 'string' ? error.code : undefined;
  return code === undefined ? error.name : `${error.name} ${code}`;
}

/** Where something happened that should not have, without the message; nothing for what is understood. */
export function traceOf(error: unknown): string {
  if (!(error instanceof Error) || error instanceof StillcountError) return '';
  const frames = (error.stack ?? '').split('\n').filter((line) => /^\s+at /.test(line));
  return frames
    .slice(0, mostFrames)
    .map((line) => line.trim())
    .join(' < ');
}
