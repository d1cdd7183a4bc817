import { findCorrectableRefusals, type Refusal, type Result } from '../../clinic/refusals.js';
import type { RefusalCode } from '../../errors/refusalCodes.js';
import type { Problem } from '../../errors/stillcountError.js';
import { type RefusalWords, sentenceOf } from '../../text/refusalWords.js';

/** A refusal as a page or another program gets it: its code, its text, its facts. */
export type CodedProblem = Omit<Problem, 'file' | 'line'> & { code: RefusalCode };

/** Refusals with their texts. */
export function withSentences(
  refusals: readonly Refusal[],
  { refusals: words }: { refusals: RefusalWords },
): CodedProblem[] {
  return refusals.map((refusal) => {
    const { code, field, found, allowed, hint = words[code].hint } = refusal;
    return {
      code,
      message: sentenceOf(words, refusal),
      ...(field === undefined ? {} : { path: field }),
      ...(found === undefined ? {} : { found }),
      ...(allowed === undefined ? {} : { allowed }),
      ...(hint === undefined ? {} : { hint }),
    };
  });
}

/**
 * Runs a command for a page that shows its form again when the command is refused.
 *
 * @throws Refused if no other input would help, such as for a read-only member; and whatever else went wrong
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
