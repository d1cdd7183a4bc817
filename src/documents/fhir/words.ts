import { z } from 'zod';
import { amountsDone } from '../../listening/report.js';

const word = z.string().min(1);

/** The texts in a record for other systems, because most of its content has no codes. */
export const fhirWordsSchema = z.strictObject({
  programCategory: word,
  damaged: word,
  signed: word,
  reported: word,
  device: word,
  listener: word,
  checkIn: word,
  noteRead: word,
  reader: word,
  questions: z.strictObject({
    done: word,
    painBefore: word,
    painAfter: word,
    effort: word,
    signs: word,
    note: word,
  }),
  amountsDone: z.record(z.enum(amountsDone), word),
  noSigns: word,
  painBefore: word,
  painAfter: word,
  effort: word,
  sessionsDone: word,
  wanted: word,
  easier: word,
  partly: word,
  missed: word,
  excused: word,
  unwell: word,
  beyond: word,
  warning: word,
  someWarning: word,
  openWarning: word,
  withdrawn: word,
});
export type FhirWords = z.infer<typeof fhirWordsSchema>;
