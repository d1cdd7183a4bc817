/** Who has to act: `input` means the person must change the input; `work` means the work itself failed. */
export type ErrorKind = 'input' | 'work';

/** One problem, in parts, so that a terminal, a page and an API can each show it their own way. */
export type Problem = {
  /** What is wrong, one plain sentence without the parts below. */
  message: string;
  /** The file that contains it, as the person named it. */
  file?: string;
  /** Where in the file, for example `exercises[1].dose.holdSeconds`. */
  path?: string;
  /** Line in the file, counted from 1. */
  line?: number;
  /** The value that was found. */
  found?: string;
  /** The values that are allowed. */
  allowed?: string;
  /** A suggestion, for example the nearest known name. */
  hint?: string;
};

/** The only error class of this project. Every problem that a person can cause or fix is thrown as this. */
export class StillcountError extends Error {
  readonly kind: ErrorKind;
  readonly problems: readonly Problem[];

  constructor(kind: ErrorKind, problems: Problem | readonly Problem[], options?: { cause?: unknown }) {
    const list: readonly Problem[] = Array.isArray(problems) ? problems : [problems as Problem];
    super(list.map(formatProblem).join('\n'), options);
    this.name = 'StillcountError';
    this.kind = kind;
    this.problems = list;
  }
}

/** Shorthand for a {@link StillcountError} that whoever supplied the input must fix. */
export function inputError(problems: Problem | readonly Problem[], cause?: unknown): StillcountError {
  return new StillcountError('input', problems, cause === undefined ? undefined : { cause });
}

/** Shorthand for a {@link StillcountError} where the work itself failed: a voice, ffmpeg, the disk. */
export function workError(problem: Problem, cause?: unknown): StillcountError {
  return new StillcountError('work', problem, cause === undefined ? undefined : { cause });
}

/** Adds a place to every problem that does not have its own; returns other errors unchanged. */
export function placed(error: unknown, place: Pick<Problem, 'file' | 'path'>): unknown {
  if (!(error instanceof StillcountError)) return error;
  return new StillcountError(
    error.kind,
    error.problems.map((problem) => ({ ...place, ...problem })),
    { cause: error },
  );
}

/** Returns the problems that a reader reports; an empty list if it succeeds. Other errors are rethrown. */
export function refusedBy(read: () => unknown): readonly Problem[] {
  try {
    read();
    return [];
  } catch (error) {
    if (error instanceof StillcountError) return error.problems;
    throw error;
  }
}

/** Formats a problem as one or more short lines: place, sentence, found, allowed, hint. */
export function formatProblem(problem: Problem): string {
  const place = [problem.file, problem.line === undefined ? undefined : `line ${problem.line}`, problem.path]
    .filter((part) => part !== undefined)
    .join(', ');
  const lines = [place === '' ? problem.message : `${place}: ${problem.message}`];
  if (problem.found !== undefined) lines.push(`  found:   ${problem.found}`);
  if (problem.allowed !== undefined) lines.push(`  allowed: ${problem.allowed}`);
  if (problem.hint !== undefined) lines.push(`  hint:    ${problem.hint}`);
  return lines.join('\n');
}
