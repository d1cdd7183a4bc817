import type { Refusal } from '../../clinic/refusals.js';
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
