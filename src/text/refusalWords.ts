import { z } from 'zod';
import { type RefusalCode, refusalCodes } from '../errors/refusalCodes.js';

const word = z.string().min(1);

/** A sentence for each code, and what may help. */
export const refusalWordsSchema = z.record(
  z.enum(refusalCodes),
  z.strictObject({ says: word, hint: word.optional() }),
);

export type RefusalWords = Readonly<Record<RefusalCode, { says: string; hint?: string | undefined }>>;

/** The sentence of a code, with what it speaks of. */
export function sentenceOf(
  words: RefusalWords,
  { code, about }: { code: RefusalCode; about?: string },
): string {
  return words[code].says.replaceAll('{{about}}', () => about ?? '');
}
