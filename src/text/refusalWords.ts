import { z } from 'zod';
import { type AnswerCode, answerCodes, type RefusalCode } from '../errors/refusalCodes.js';

const word = z.string().min(1);

/** A sentence for each code, with a hint about what may help. */
export const refusalWordsSchema = z.record(
  z.enum(answerCodes),
  z.strictObject({ says: word, hint: word.optional() }),
);

export type RefusalWords = Readonly<Record<AnswerCode, { says: string; hint?: string | undefined }>>;

/** Returns the sentence for a code, with its values filled in. */
export function sentenceOf(
  words: RefusalWords,
  { code, about }: { code: RefusalCode; about?: string },
): string {
  return words[code].says.replaceAll('{{about}}', () => about ?? '');
}
