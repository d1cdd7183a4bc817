import { z } from 'zod';
import { partsOfDay } from '../followup/adherence.js';
import { outcomeKinds } from '../followup/history.js';
import { periods } from './periods.js';

const word = z.string().min(1);

/** Words for the charts and tables of the follow-up. */
export const followUpWordsSchema = z.strictObject({
  periods: z.record(z.enum(periods), word),
  outcomes: z.record(z.enum(outcomeKinds), word),
  partsOfDay: z.record(z.enum(partsOfDay), word),
  painBefore: word,
  painAfter: word,
  effort: word,
  unchangedBand: word,
  painTitle: word,
  effortTitle: word,
  stripTitle: word,
  nothingAnswered: word,
  nothingDue: word,
  /** Can contain `number`. */
  version: word,
  warning: word,
});
