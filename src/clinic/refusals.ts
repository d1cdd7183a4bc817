import { type RefusalCode, type RefusalKind, refusalKinds } from '../errors/refusalCodes.js';
import { type Problem, StillcountError } from '../errors/stillcountError.js';

/** One reason why a command is refused: its code and its facts. The texts are in `text/refusals.yaml`. */
export type Refusal = {
  code: RefusalCode;
  /** The field that it concerns, as the request names it. */
  field?: string;
  found?: string;
  allowed?: string;
  /** What fills `{{about}}` in the text of this code, if the text has it. */
  about?: string;
  /** A hint from the rules, where it differs between refusals of the same code. */
  hint?: string;
};

/** The result of a command: its value, or why it was refused. A refused command changes nothing. */
export type Result<Value> =
  | { kind: 'done'; value: Value }
  | { kind: 'refused'; refusals: readonly [Refusal, ...Refusal[]] };

/**
 * Aborts a command from anywhere inside it. The transaction undoes what was already written, and no caller can continue
 * as if the command had succeeded. A page's `attempt` turns it into a result.
 */
export class Refused extends Error {
  readonly refusals: readonly [Refusal, ...Refusal[]];

  constructor(refusals: readonly [Refusal, ...Refusal[]]) {
    super(refusals.map(({ code, field }) => (field === undefined ? code : `${field}: ${code}`)).join('; '));
    this.name = 'Refused';
    this.refusals = refusals;
  }

  /** A hint for the user. */
  get kind(): RefusalKind {
    return refusalKinds[this.refusals[0].code];
  }
}

/** Creates the error that a refused command throws. */
export function refused(code: RefusalCode, facts: Omit<Refusal, 'code'> = {}): Refused {
  return new Refused([{ code, ...facts }]);
}

/** @throws Refused if there is any reason to refuse */
export function throwIfRefused(refusals: readonly Refusal[]): void {
  const [first, ...rest] = refusals;
  if (first !== undefined) throw new Refused([first, ...rest]);
}

/** Turns the problems that a rule or a form's schema reports into reasons, in their own words. */
export function refusalOf({ message, path, found, allowed, hint }: Problem): Refusal {
  return {
    ...{ code: 'not-valid', about: message },
    ...(path === undefined ? {} : { field: path }),
    ...(found === undefined ? {} : { found }),
    ...(allowed === undefined ? {} : { allowed }),
    ...(hint === undefined ? {} : { hint }),
  };
}

/** The reasons for a refusal that the user can correct and resubmit; null for every other error. */
export function findCorrectableRefusals(error: unknown): readonly [Refusal, ...Refusal[]] | null {
  if (error instanceof Refused) return error.kind === 'mend' ? error.refusals : null;
  if (!(error instanceof StillcountError) || error.kind !== 'input') return null;
  const [first, ...rest] = error.problems.map(refusalOf);
  return first === undefined ? null : [first, ...rest];
}
