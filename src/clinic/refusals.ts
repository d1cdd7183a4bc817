import { type RefusalCode, type RefusalKind, refusalKinds } from '../errors/refusalCodes.js';
import { type Problem, StillcountError } from '../errors/stillcountError.js';

/**
 * One reason for which something is not done, by its name and its facts. What it reads like is up to whoever shows it:
 * the sentences stand in `text/refusals.yaml`.
 */
export type Refusal = {
  code: RefusalCode;
  /** The field that it is about, as the request names it. */
  field?: string;
  found?: string;
  allowed?: string;
  /** What the sentence of this code speaks of, where it speaks of something. */
  about?: string;
  /** What the rules suggest, where it is not the same for every refusal of this code. */
  hint?: string;
};

/** What came of a command: its value, or why it was not done. Nothing was changed when it was refused. */
export type Result<Value> =
  | { kind: 'done'; value: Value }
  | { kind: 'refused'; refusals: readonly [Refusal, ...Refusal[]] };

/**
 * How a command refuses from wherever it has got to: what it has written so far is undone with its transaction, and
 * nobody can go on as if it had been done. {@link attempt} makes a result of it.
 */
export class Refused extends Error {
  readonly refusals: readonly [Refusal, ...Refusal[]];

  constructor(refusals: readonly [Refusal, ...Refusal[]]) {
    super(refusals.map(({ code, field }) => (field === undefined ? code : `${field}: ${code}`)).join('; '));
    this.name = 'Refused';
    this.refusals = refusals;
  }

  /** What it asks of whoever is refused. */
  get kind(): RefusalKind {
    return refusalKinds[this.refusals[0].code];
  }
}

/** To be thrown by a command that is not done. */
export function refused(code: RefusalCode, facts: Omit<Refusal, 'code'> = {}): Refused {
  return new Refused([{ code, ...facts }]);
}

/** @throws Refused where there is any reason against it */
export function throwIfRefused(refusals: readonly Refusal[]): void {
  const [first, ...rest] = refusals;
  if (first !== undefined) throw new Refused([first, ...rest]);
}

/** What the rules, or the schema of a form, find wrong, in their own words. */
export function refusalOf({ message, path, found, allowed, hint }: Problem): Refusal {
  return {
    ...{ code: 'not-valid', about: message },
    ...(path === undefined ? {} : { field: path }),
    ...(found === undefined ? {} : { found }),
    ...(allowed === undefined ? {} : { allowed }),
    ...(hint === undefined ? {} : { hint }),
  };
}

/** Why something was refused that whoever asked can mend and send again; null for every other error. */
export function findCorrectableRefusals(error: unknown): readonly [Refusal, ...Refusal[]] | null {
  if (error instanceof Refused) return error.kind === 'mend' ? error.refusals : null;
  if (!(error instanceof StillcountError) || error.kind !== 'input') return null;
  const [first, ...rest] = error.problems.map(refusalOf);
  return first === undefined ? null : [first, ...rest];
}

/**
 * Runs a command for a page that shows its form again when it is refused.
 *
 * @throws Refused where no other input would help, such as for somebody who may only read; whatever else went wrong
 */
export async function attempt<Value>(command: () => Promise<Value>): Promise<Result<Value>> {
  try {
    return { kind: 'done', value: await command() };
  } catch (error) {
    const refusals = findCorrectableRefusals(error);
    if (refusals === null) throw error;
    return { kind: 'refused', refusals };
  }
}
