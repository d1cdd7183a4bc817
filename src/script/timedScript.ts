import { z } from 'zod';

/**
 * The timed script: everything that is heard, and when. It is what the audio room renders, what
 * `session.script.json` holds and what an inspection compares a finished file with. All times are whole
 * milliseconds from the start of the session.
 */

const ms = z.int().min(0);

const cueKinds = ['speech', 'count', 'breath', 'presence'] as const;
const sideSchema = z.enum(['left', 'right']);
export type Side = z.infer<typeof sideSchema>;

/** What a cue does in its exercise; the dose can be recomputed from roles and beats alone. */
const cueRoles = [
  'instruction',
  /** A change of position; the silence after it is the person's own time for it. */
  'change',
  /** Told and not yet done; the word of command comes within ten seconds of its end. */
  'explanation',
  'safety',
  'coaching',
  'note',
  'prepare',
  'start',
  'count',
  'release',
  'rest',
  'in',
  'pause-after-in',
  'out',
  'pause-after-out',
  'lift',
  'hold',
  'lower',
  'begin',
  'time-mark',
  'finish',
  'presence',
] as const;
const cueRoleSchema = z.enum(cueRoles);
export type CueRole = z.infer<typeof cueRoleSchema>;

/**
 * A soft tone. Under the words of a breath phase, `in` rises and `out` falls; `level` is the short one that stands for
 * a count.
 */
const toneSchema = z.strictObject({
  direction: z.enum(['in', 'out', 'level']),
  startMs: ms,
  endMs: ms,
});
export type Tone = z.infer<typeof toneSchema>;

const cueSchema = z.strictObject({
  kind: z.enum(cueKinds),
  role: cueRoleSchema,
  /** The words, exactly as given to the voice; absent for presence sounds, unspoken breath phases and counted tones. */
  text: z.string().optional(),
  /** What is to be read where a tone stands for a count: the number that it stands for. */
  shown: z.string().optional(),
  /**
   * The words from first to last sample; for an unspoken breath phase, the phase itself; for a counted tone, the tone.
   */
  startMs: ms,
  endMs: ms,
  /**
   * The beat that the cue marks: where its word is heard to happen (perceptual center), or its onset for phrases
   * that open a breath phase or a longer stretch of time (then equal to `startMs`). Null where timing is free.
   */
  beatMs: ms.nullable(),
  /** For a breath cue: its phase, start inclusive, end exclusive. */
  phase: z.strictObject({ startMs: ms, endMs: ms }).optional(),
  tone: toneSchema.optional(),
  /** Index into `chapters`. */
  chapter: z.int().min(0),
  /** Catalogue id. Absent in the opening and the closing. */
  exercise: z.string().optional(),
  set: z.int().min(1).optional(),
  rep: z.int().min(1).optional(),
  side: sideSchema.optional(),
});
export type Cue = z.infer<typeof cueSchema>;

const chapterSchema = z.strictObject({
  title: z.string(),
  startMs: ms,
  endMs: ms,
  exercise: z.string().optional(),
});
export type Chapter = z.infer<typeof chapterSchema>;

const adjustmentSchema = z.strictObject({
  /** Key of the wording in phrases.yaml, for programs that read the file. */
  kind: z.string(),
  /** The same in words for a clinician. */
  text: z.string(),
  exercise: z.string().optional(),
});
export type Adjustment = z.infer<typeof adjustmentSchema>;

export const timedScriptSchema = z.strictObject({
  format: z.literal('stillcount-script/1'),
  title: z.string(),
  language: z.string(),
  voice: z.string(),
  wordsPerMinute: z.number(),
  sessionNumber: z.int(),
  seed: z.int(),
  /** Longest silence allowed between two sounds. */
  presenceIntervalMs: ms,
  durationMs: ms,
  chapters: z.array(chapterSchema).min(1),
  cues: z.array(cueSchema).min(1),
  /** Moments from which listening can start again, ascending. */
  resumePointsMs: z.array(ms).min(1),
  adjustments: z.array(adjustmentSchema),
});
export type TimedScript = z.infer<typeof timedScriptSchema>;
