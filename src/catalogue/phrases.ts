import { z } from 'zod';
import { changeWordsSchema } from './changeWords.js';
import { linesSchema, wordingSchema } from './wording.js';

/** audio-templates/LANG/phrases.yaml: wording that does not belong to a single exercise. */
export const phrasesSchema = z.strictObject({
  /** BCP 47 tag of the language. */
  language: z.string(),
  /** Words for 0, 1, 2 ... at least up to 60. */
  numbers: z.array(z.string().min(1)).min(61),
  /** Words that voices of this language mispronounce, with spellings that correct them. */
  pronunciations: z.record(z.string(), z.string()).default({}),
  sides: z.strictObject({ left: z.string(), right: z.string() }),
  greeting: linesSchema.min(1),
  /** Reasons not to start at all; said in every session, while the listener is still up. */
  beforeLyingDown: linesSchema.min(1),
  /** For each `bring` of the program's exercises, as `thing`. */
  bring: wordingSchema,
  /** For each `bringToFeet` of the program's exercises, as `thing`. */
  bringToFeet: wordingSchema,
  /** The wording that guides the listener from one posture to the next. */
  changes: changeWordsSchema,
  openingSafety: linesSchema.min(1),
  closing: linesSchema.min(1),
  /** How to get up from the position in which the session ends. */
  gettingUp: z.strictObject({ lying: linesSchema, sitting: linesSchema, standing: linesSchema }),
  closingSafety: linesSchema.min(1),
  /** Chapter titles of the opening and the closing. */
  titles: z.strictObject({ opening: z.string(), closing: z.string() }),
  /** Said after the introduction of an exercise, one for each timing shape that announces a dose. */
  dose: z.strictObject({
    sustained: wordingSchema,
    hold: wordingSchema,
    breath: wordingSchema,
    tempo: wordingSchema,
  }),
  /** Said before a set on a given side. */
  sideComing: wordingSchema,
  /** Said between sets. */
  setDone: wordingSchema,
  /** Time announcements in sustained exercises. */
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
  /** Adjustments made during placement, in words for the clinician (not spoken). */
  adjustments: z.record(z.string(), z.string()),
});
export type Phrases = z.infer<typeof phrasesSchema>;
