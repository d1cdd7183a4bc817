import { z } from 'zod';
import { changeWordsSchema } from './changeWords.js';
import { linesSchema, wordingSchema } from './wording.js';

/** audio-templates/LANG/phrases.yaml: words that belong to no one exercise. */
export const phrasesSchema = z.strictObject({
  /** BCP 47 tag of the language. */
  language: z.string(),
  /** Words for 0, 1, 2 ... at least up to 60. */
  numbers: z.array(z.string().min(1)).min(61),
  /** Words that voices of this language say wrong, and how to spell them so that they come out right. */
  pronunciations: z.record(z.string(), z.string()).default({}),
  sides: z.strictObject({ left: z.string(), right: z.string() }),
  greeting: linesSchema.min(1),
  /** Reasons not to begin at all; said in every session, while the listener is still up. */
  beforeLyingDown: linesSchema.min(1),
  /** For each `bring` of the program's exercises, as `thing`. */
  bring: wordingSchema,
  /** For each `bringToFeet` of the program's exercises, as `thing`. */
  bringToFeet: wordingSchema,
  /** What leads from one posture to the next. */
  changes: changeWordsSchema,
  openingSafety: linesSchema.min(1),
  closing: linesSchema.min(1),
  /** How to get up from where the session ends. */
  gettingUp: z.strictObject({ lying: linesSchema, sitting: linesSchema, standing: linesSchema }),
  closingSafety: linesSchema.min(1),
  /** Chapter titles of the opening and the closing. */
  titles: z.strictObject({ opening: z.string(), closing: z.string() }),
  /** Said after the introduction of an exercise, one for each timing shape that has a dose to announce. */
  dose: z.strictObject({
    sustained: wordingSchema,
    hold: wordingSchema,
    breath: wordingSchema,
    tempo: wordingSchema,
  }),
  /** Before a set on a given side. */
  sideComing: wordingSchema,
  /** Between sets. */
  setDone: wordingSchema,
  /** Time marks of sustained exercises. */
  marks: z.strictObject({
    minutesLeft: wordingSchema,
    oneMinuteLeft: wordingSchema,
    halfMinuteLeft: wordingSchema,
  }),
  /** Reminders to breathe; said in every exercise with holds, never faded. */
  keepBreathing: wordingSchema,
  /** Spoken names of set-up choices. */
  setUp: z.strictObject({
    surface: z.record(z.string(), z.string()),
    headSupport: z.record(z.string(), z.string()),
    knees: z.record(z.string(), z.string()),
  }),
  /** What placing had to change, in words that a clinician reads (not heard). */
  adjustments: z.record(z.string(), z.string()),
});
export type Phrases = z.infer<typeof phrasesSchema>;
