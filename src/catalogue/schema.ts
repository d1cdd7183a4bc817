import { z } from 'zod';
import { figureSchema } from '../figure/spec.js';
import { pathSchema } from './posture.js';
import {
  bodyPositionSchema,
  linesSchema,
  loadTagSchema,
  phraseSchema,
  purposeSchema,
  wordingSchema,
} from './wording.js';

/**
 * Schemas of the data files under audio-templates/LANG. Every string that a listener can hear is a Mustache template;
 * template.ts checks which names it uses.
 */

/** Wording that every exercise has, in every timing shape. */
const commonWording = {
  /** Names the exercise. */
  introduce: wordingSchema,
  /** How to get into position; the listener does it right away. */
  setUp: linesSchema.default([]),
  /**
   * What the exercise will be, as an explanation and not yet to be done: never in the imperative. The word of command
   * comes after it.
   */
  explain: linesSchema.default([]),
  /**
   * A starting position that nobody should hold while listening, such as raised arms: taken after the explanation, just
   * before the word of command, and again after each rest in which it was left.
   */
  startingPosition: linesSchema.default([]),
  /** Ends the starting position for a longer rest: "Lower your arms, and rest." */
  leavePosition: wordingSchema.optional(),
  /** Said in every session, at every coaching density and in every time budget. */
  safety: linesSchema.default([]),
  /** A pool of reminders that fade as sessions go by. */
  coaching: z.array(phraseSchema).default([]),
  /** Ends the exercise. */
  finish: wordingSchema,
  /** Said after the exercise: removes props from the set-up, such as a towel under the knee. */
  clearUp: linesSchema.default([]),
  /**
   * Said between two sides if something must be moved for the second one; the layout adds it and allows time for it.
   */
  changeSides: linesSchema
    .refine(
      (lines) => lines.every((line) => line.takes !== undefined || line.pauseAfterSeconds !== undefined),
      {
        message: 'each line of a change of sides has its time: takes, or pauseAfterSeconds',
      },
    )
    .default([]),
  /** What must be within reach before the listener lies down, for example "your stick". */
  bring: z.string().min(1).optional(),
  /** What must be at the foot of the bed before the listener lies down, because the hands do not reach there. */
  bringToFeet: z.string().min(1).optional(),
};

/** Inclusive range of a dose number. */
const rangeSchema = z
  .strictObject({ min: z.number(), max: z.number() })
  .refine((range) => range.min <= range.max, { message: 'min must not be greater than max' });

const count = z.int().min(1);
/** Half seconds are the finest rest that a voice can announce. */
const seconds = z.number().min(0).multipleOf(0.5);

const sustainedDoseSchema = z.strictObject({ durationSeconds: z.int().min(1) });
const holdDoseSchema = z.strictObject({
  sets: count,
  reps: count,
  holdSeconds: count,
  /** Between repetitions, from the release to the next first count. */
  restSeconds: seconds,
  /** Between sets and between sides. */
  setRestSeconds: seconds,
});
const breathDoseSchema = z.strictObject({
  sets: count,
  /** Breaths; for a one-sided exercise, breaths for each side. */
  reps: count,
  setRestSeconds: seconds,
});
const tempoDoseSchema = z.strictObject({
  sets: count,
  reps: count,
  liftSeconds: count,
  /** 0 omits the middle part. */
  holdSeconds: z.int().min(0),
  lowerSeconds: count,
  restSeconds: seconds,
  setRestSeconds: seconds,
});
const talkDoseSchema = z.strictObject({});

/** Dose numbers of any timing shape: what a program overrides, or a precaution limits. */
export const doseOverrideSchema = z
  .strictObject({
    durationSeconds: sustainedDoseSchema.shape.durationSeconds,
    sets: holdDoseSchema.shape.sets,
    reps: breathDoseSchema.shape.reps,
    holdSeconds: tempoDoseSchema.shape.holdSeconds,
    restSeconds: holdDoseSchema.shape.restSeconds,
    setRestSeconds: holdDoseSchema.shape.setRestSeconds,
    liftSeconds: tempoDoseSchema.shape.liftSeconds,
    lowerSeconds: tempoDoseSchema.shape.lowerSeconds,
  })
  .partial();

function limitsOf<Shape extends Record<string, z.ZodType>>(schema: z.ZodObject<Shape>) {
  const keys = Object.keys(schema.shape) as (keyof Shape & string)[];
  return z.strictObject(
    Object.fromEntries(keys.map((key) => [key, rangeSchema])) as Record<
      keyof Shape & string,
      typeof rangeSchema
    >,
  );
}

function ladderOf<Shape extends Record<string, z.ZodType>>(dose: z.ZodObject<Shape>) {
  return z.strictObject({
    /** When a clinician can consider the next step. This is only advice: a step needs her sign-off. */
    rule: z.string().min(1),
    /** The rule of `progression.yaml` with the same numbers; omitted if there are no steps. */
    progression: z.string().min(1).optional(),
    steps: z.array(z.strictObject({ name: z.string().min(1), dose: dose.partial() })),
  });
}

const doseSourceSchema = z.strictObject({
  /**
   * `published`: the text names the publication. `common-practice`: a convention of the field without a published
   * source.
   */
  kind: z.enum(['published', 'common-practice']),
  text: z.string().min(1),
});

/** Fits beside a figure in three or four lines. */
const handoutSentence = z.string().trim().min(1).max(140);

const commonExercise = {
  id: z.string().regex(/^[a-z][a-z0-9-]*$/),
  /** Plain name, as printed. */
  name: z.string().min(1),
  /** The movement in anatomical terms, for the clinician. */
  anatomy: z.string().min(1),
  /** Its purpose, in plain words. */
  purpose: z.string().min(1),
  purposes: z.array(purposeSchema).min(1),
  position: z.strictObject({
    body: bodyPositionSchema,
    surface: z.string().min(1),
    headSupport: z.string().min(1),
    arms: z.string().min(1),
    knees: z.string().min(1),
  }),
  /** The postures that the exercise starts and ends in; the layout guides the listener from one to the next. */
  path: pathSchema,
  /** How it is drawn; an exercise of a clinic's own may have words alone. */
  figure: figureSchema.optional(),
  equipment: z.array(z.string().min(1)),
  how: z.array(z.string().min(1)).min(1),
  feel: z.array(z.string().min(1)).min(1),
  avoid: z.array(z.string().min(1)).min(1),
  /**
   * The two sentences that matter most, for a handout of two pages: what to do, and what keeps it safe. Whatever of
   * `avoid` can do harm is among them; without them all of `avoid` is printed.
   */
  handout: z.tuple([handoutSentence, handoutSentence]).optional(),
  cautions: z.array(z.string().min(1)).min(1),
  loadTags: z.array(loadTagSchema).min(1),
  /** `midline`: no side. `together`: both sides at once. `one-side`: a side can be chosen. */
  sidedness: z.enum(['midline', 'together', 'one-side']),
  doseSource: doseSourceSchema,
};

const sustainedExercise = z.strictObject({
  ...commonExercise,
  timing: z.literal('sustained'),
  dose: sustainedDoseSchema,
  limits: limitsOf(sustainedDoseSchema),
  ladder: ladderOf(sustainedDoseSchema),
  wording: z.strictObject({ ...commonWording, begin: wordingSchema }),
});

const holdExercise = z.strictObject({
  ...commonExercise,
  timing: z.literal('hold'),
  dose: holdDoseSchema,
  limits: limitsOf(holdDoseSchema),
  ladder: ladderOf(holdDoseSchema),
  wording: z.strictObject({
    ...commonWording,
    /** Announces a hold; said before each one. */
    prepare: wordingSchema,
    /** The word of command, one to three words: "and press". */
    start: wordingSchema,
    /** Ends the hold, on its beat. Never dropped. */
    release: wordingSchema,
  }),
});

const breathExercise = z.strictObject({
  ...commonExercise,
  timing: z.literal('breath'),
  dose: breathDoseSchema,
  limits: limitsOf(breathDoseSchema),
  ladder: ladderOf(breathDoseSchema),
  wording: z.strictObject({
    ...commonWording,
    /** Said once, before the first breath of each set. */
    prepare: wordingSchema,
    /** The in-breath of the first repetition in a set. */
    firstIn: wordingSchema,
    /** The in-breath of every later repetition; a movement returns during it. */
    nextIn: wordingSchema,
    /** The out-breath; a movement goes out during it. */
    out: wordingSchema,
    /** After the last out-breath of a set: the movement returns. */
    comeBack: wordingSchema,
  }),
});

const tempoExercise = z.strictObject({
  ...commonExercise,
  timing: z.literal('tempo'),
  dose: tempoDoseSchema,
  limits: limitsOf(tempoDoseSchema),
  ladder: ladderOf(tempoDoseSchema),
  wording: z.strictObject({
    ...commonWording,
    prepare: wordingSchema,
    /** One or two words, each on the first beat of its part. */
    lift: wordingSchema,
    hold: wordingSchema,
    lower: wordingSchema,
    /** On the beat that ends the last part. Never dropped. */
    release: wordingSchema,
  }),
});

const talkExercise = z.strictObject({
  ...commonExercise,
  timing: z.literal('talk'),
  dose: talkDoseSchema,
  limits: z.strictObject({}),
  ladder: ladderOf(talkDoseSchema),
  wording: z.strictObject({ ...commonWording }),
});

export const exerciseSchema = z.discriminatedUnion('timing', [
  sustainedExercise,
  holdExercise,
  breathExercise,
  tempoExercise,
  talkExercise,
]);
export type Exercise = z.infer<typeof exerciseSchema>;
export type ExerciseOf<Timing extends Exercise['timing']> = Extract<Exercise, { timing: Timing }>;
export type TimingShape = Exercise['timing'];
