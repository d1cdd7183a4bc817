import { StillcountError } from './stillcountError.js';

const mostLetters = 160;
const mostFrames = 8;
const mostCauses = 4;
const mostFrameLetters = 400;

/** A thrown error without its message: its name, its code, and its stack. */
type ThrownError = { name: string; code?: string; stack: string[] };
/** The error with its causes, the nearest one first. */
export type DescribedError = ThrownError & { causes: ThrownError[] };

/**
 * Returns the cause in plain words if they are ours, otherwise the kind of error, because its message can hold
 * anything.
 */
export function causeOf(error: unknown): string {
  if (typeof error === 'string') return error;
  if (error instanceof StillcountError) {
    // Text in quotes may be spoken text, with names.
    const plain = (error.problems[0]?.message ?? error.name).replaceAll(/“[^”]*”/g, '“…”');
    return plain.slice(0, mostLetters).replace(/[.]$/, '');
  }
  if (!(error instanceof Error)) return 'thrown';
  const code = codeOf(error);
  return code === undefined ? nameOf(error) : `${nameOf(error)} ${code}`;
}

/** Describes an error and its chain of causes in a form that a log can hold. */
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

/** Returns where an unexpected error happened, without its message; an empty string for an expected one. */
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

/** A name that anyone could have made up is not the name of a kind of error. */
function nameOf({ name }: Error): string {
  return /^[\w$.]{1,80}$/.test(name) ? name : 'Error';
}

function codeOf(error: Error): string | undefined {
  const isCode = 'code' in error && typeof error.code === 'string' && /^[\w-]{1,40}$/.test(error.code);
  return isCode ? String(error.code) : undefined;
}

/** Returns the stack lines below the message, which can itself contain lines that look like them. */
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
