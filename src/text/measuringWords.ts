import { z } from 'zod';
import { directions, verdicts } from '../followup/change.js';
import { sourceStatuses } from '../followup/measures.js';
import { betterDirections } from '../store/schema/followUpSchema.js';

const word = z.string().min(1);

/** Words for the measures page, and for pages that summarize measures. */
export const measuringWordsSchema = z.strictObject({
  unusual: z.record(z.enum(['range', 'step']), word),
  verdicts: z.record(z.enum(verdicts), word),
  directions: z.record(z.enum(directions), z.string()),
  better: z.record(z.enum(betterDirections), word),
  statuses: z.record(z.enum(sourceStatuses), word),
  /** Headings of the list of measures. */
  groups: z.record(z.enum(['activity', 'catalogue', 'clinic']), word),
  /** Follows a change on a scale without a unit. */
  points: word,
  onePoint: word,
  plainNumber: word,
  fields: z.record(z.string(), word),
});
