import { StillcountError } from './stillcountError.js';

const mostLetters = 160;
const mostFrames = 8;
const mostCauses = 4;
const mostFrameLetters = 400;

/** What was thrown, without its message: its kind, its code, and where it came from. */
type ThrownError = { name: string; code?: string; stack: string[] };
/** The same with what caused it, the nearest cause first. */
export type DescribedError = ThrownError & { causes: ThrownError[] };

/** The cause in plain words where they are ours, else the kind of error: its message may hold anything. */
export function causeOf(error: unknown): string {
  if (typeof error === 'string') return error;
  if (error instanceof StillcountError) {
    // What stands in quotes may be spoken text, with names.
    const plain = (error.problems[0]?.message ?? error.name).replaceAll(/“[^”]*”/g, '“…”');
    return plain.slice(0, mostLetters).replace(/[.]$/, '');
  }
  if (!(error instanceof Error)) return 'thrown';
  const code = codeOf(error);
  return code === undefined ? nameOf(error) : `${nameOf(error)} ${code}`;
}

/** An error and its chain of causes as a log may hold them. */
export function describeError(error: unknown): DescribedError {
  const chain: unknown[] = [];
  for (
    let next: unknown = error;
    next !== undefined && chain.length <= mostCauses;
    next = causeBehind(next)
  ) {
    if (chain.includes(next)) break;
    chain.push(next);
  }
  const [first, ...causes] = chain.map(describeOne);
  return { ...(first ?? describeOne(error)), causes };
}

/** Where something happened that should not have, without the message; nothing for what is understood. */
export function traceOf(error: unknown): string {
  if (!(error instanceof Error) || error instanceof StillcountError) return '';
  return framesOf(error).join(' < ');
}

function describeOne(error: unknown): ThrownError {
  if (!(error instanceof Error)) return { name: 'thrown', stack: [] };
  const code = codeOf(error);
  return { name: nameOf(error), ...(code === undefined ? {} : { code }), stack: framesOf(error) };
}

function causeBehind(error: unknown): unknown {
  return error instanceof Error ? error.cause : undefined;
}

/** What anyone may have written there is no name of a kind of error. */
function nameOf({ name }: Error): string {
  return /^[\w$.]{1,80}$/.test(name) ? name : 'Error';
}

function codeOf(error: Error): string | undefined {
  const isCode = 'code' in error && typeof error.code === 'string' && /^[\w-]{1,40}$/.test(error.code);
  return isCode ? String(error.code) : undefined;
}

/** The lines of a stack below the message, which may itself have lines that look like them. */
function framesOf(error: Error): string[] {
  const stack = error.stack ?? '';
  const at = error.message === '' ? -1 : stack.indexOf(error.message);
  const below = at < 0 ? stack : stack.slice(at + error.message.length);
  return below
    .split('\n')
    .filter((line) => /^\s+at /.test(line))
    .slice(0, mostFrames)
    .map((line) => line.trim().slice(0, mostFrameLetters));
}
