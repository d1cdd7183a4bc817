import { z } from 'zod';
import { doseOverrideSchema } from '../catalogue/schema.js';
import { setUpDifferenceSchema, setUpSchema } from '../catalogue/setUp.js';

/** The program file: what a clinician prescribes. Strict: an unknown key is an error, never ignored. */

/** Text that a voice can speak: letters of any script, digits and plain punctuation. */
const speakable = /^[\p{L}\p{M}0-9 .,;:!?'’()-]+$/u;
/** The same with the characters of Mustache tags. */
const speakableTemplate = /^[\p{L}\p{M}0-9 .,;:!?'’()\-{}#^/&]+$/u;
const notSpeakable = 'a voice can only say letters, digits and plain punctuation on one line';
const aLetter = /\p{L}/u;
/** Text that is too long aborts the validation, so that no pattern runs over text of unbounded length. */
const oneTo = (maxLength: number) => z.string().min(1).max(maxLength, { abort: true });
const spoken = (maxLength: number) =>
  oneTo(maxLength).regex(speakable, { error: notSpeakable }).regex(aLetter, { error: notSpeakable });
/** A name that a voice can speak. */
export const spokenNameSchema = spoken(60);
const notPrinted = 'text on one line with at least one letter';
const printed = (maxLength: number) =>
  oneTo(maxLength)
    .regex(/^[^\p{Cc}\p{Cs}]*$/u, { error: notPrinted })
    .regex(aLetter, { error: notPrinted });

/** More entries than any program needs. */
const mostPronunciations = 100;

const breathPhaseSeconds = z.number().min(1).max(15);
/** Short on purpose, because a longer pause would ask the listener to hold their breath. */
const breathPauseSeconds = z.number().min(0).max(5);

const breathPaceSchema = z
  .strictObject({
    inSeconds: breathPhaseSeconds.default(4).describe('Length of the in-breath.'),
    pauseAfterInSeconds: breathPauseSeconds.default(0).describe('Pause with the lungs full; 0 for none.'),
    outSeconds: breathPhaseSeconds.default(5).describe('Length of the out-breath.'),
    pauseAfterOutSeconds: breathPauseSeconds.default(0).describe('Pause with the lungs empty; 0 for none.'),
  })
  .describe('This patient’s own breathing pace, as timed in the clinic.');
export type BreathPace = z.infer<typeof breathPaceSchema>;

/** Seconds that this patient needs for each change of position, as seen at the visit. */
export const changeTimesSchema = z
  .strictObject({
    lyingDownSeconds: z
      .number()
      .min(10)
      .max(180)
      .default(40)
      .describe('From standing beside the bed to lying on the back.'),
    sittingUpSeconds: z
      .number()
      .min(10)
      .max(180)
      .default(20)
      .describe('From lying on the side to sitting on the edge.'),
    rollingSeconds: z.number().min(4).max(60).default(12).describe('From the back onto a side.'),
    placingSeconds: z
      .number()
      .min(5)
      .max(60)
      .default(15)
      .describe('Laying out or taking away a towel, a pillow or a roll.'),
    movingLegsSeconds: z
      .number()
      .min(2)
      .max(30)
      .default(5)
      .describe('Bending, straightening or changing legs.'),
  })
  .describe('Seconds that this patient needs for each change of position, as seen at the visit.');
export type ChangeTimes = z.infer<typeof changeTimesSchema>;

const countingSchema = z.strictObject({
  which: z
    .enum(['all', 'last-five', 'none'])
    .default('all')
    .describe('Which seconds of a hold are counted aloud.'),
  direction: z.enum(['down', 'up']).default('down'),
});
export type Counting = z.infer<typeof countingSchema>;

export const sideChoiceSchema = z.enum(['left', 'right', 'both', 'alternate']);
export type SideChoice = z.infer<typeof sideChoiceSchema>;

export const programExerciseSchema = z.strictObject({
  exercise: z.string().describe('Catalogue id; `stillcount catalogue` lists them.'),
  dose: doseOverrideSchema.optional(),
  side: sideChoiceSchema
    .optional()
    .describe('both: all of one side, then the other; alternate: side by side in turn.'),
  setUp: setUpDifferenceSchema.optional().describe('Where this exercise differs from the program’s set-up.'),
  isNew: z
    .boolean()
    .default(false)
    .describe('New to the patient in this session: explained in full, as in a first session.'),
  note: oneTo(300)
    .regex(speakableTemplate, { error: notSpeakable })
    .regex(aLetter, { error: notSpeakable })
    .optional()
    .describe('The clinician’s own spoken words, said before the exercise.'),
});
export type ProgramExercise = z.infer<typeof programExerciseSchema>;

export const programSchema = z.strictObject({
  format: z.literal('stillcount-program/1'),
  title: printed(120),
  language: z
    .string()
    .regex(/^[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*$/, { error: 'a language tag such as en' })
    .default('en'),
  listener: z
    .strictObject({
      name: spokenNameSchema.describe('The name to be spoken.'),
      sayAs: spokenNameSchema
        .optional()
        .describe('How the voice should read the name, spelled as it sounds.'),
    })
    .optional(),
  voice: z
    .string()
    .max(80)
    .regex(/^[\p{L}\p{N}][\p{L}\p{N} ._:()+-]*$/u, {
      error: 'a voice id in letters, digits and simple signs',
    })
    .default('embedded:slt')
    .describe('`stillcount voices` lists them.'),
  wordsPerMinute: z.number().min(80).max(200).default(135),
  pronunciations: z
    .record(spoken(60), spoken(60))
    .refine((list) => Object.keys(list).length <= mostPronunciations, {
      error: `at most ${mostPronunciations} words`,
    })
    .default({})
    .describe('Words that the voice says wrong, and how to spell them so that it says them right.'),
  breath: breathPaceSchema.prefault({}),
  setUp: setUpSchema.prefault({}),
  changeTimes: changeTimesSchema.prefault({}),
  counting: countingSchema.prefault({}),
  coaching: z
    .enum(['full', 'fading', 'quiet'])
    .default('fading')
    .describe('How many reminders are spoken. Safety and timing words are always spoken.'),
  presenceEverySeconds: z
    .number()
    .min(10)
    .max(120)
    .default(45)
    .describe('A soft sound at least this often in silence.'),
  timeBudgetMinutes: z.number().min(1).max(120).optional(),
  session: z
    .strictObject({
      number: z
        .int()
        .min(1)
        .max(10_000)
        .default(1)
        .describe('1 for the first session; reminders fade as it grows.'),
      seed: z
        .int()
        .min(0)
        .max(2_147_483_647)
        .default(1)
        .describe('Chooses among wordings that mean the same.'),
    })
    .prefault({}),
  exercises: z.array(programExerciseSchema).min(1).max(40),
});
export type Program = z.infer<typeof programSchema>;
