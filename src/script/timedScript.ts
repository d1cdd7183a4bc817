import { z } from 'zod';

/**
 * The timed script: everything the listener hears, and when. The audio room renders it, `session.script.json` holds it,
 * and an inspection compares a finished file with it. All times are whole milliseconds from the start of the session.
 */

const ms = z.int().min(0);

const cueKinds = ['speech', 'count', 'breath', 'presence'] as const;
const sideSchema = z.enum(['left', 'right']);
export type Side = z.infer<typeof sideSchema>;

/** The function of a cue in its exercise. The dose can be recomputed from roles and beats alone. */
const cueRoles = [
  'instruction',
  /** A change of position; the silence after it is the person's own time for it. */
  'change',
  /** Describes a movement that is not done yet; the command comes within ten seconds of its end. */
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
 * A soft tone. Under the words of a breath phase, `in` rises and `out` falls; `level` is the short one that replaces a
 * count.
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
  /** Text to show for a tone that replaces a count: the number it replaces. */
  shown: z.string().optional(),
  /**
   * Start of the first sample of the words; for an unspoken breath phase, of the phase itself; for a counted tone, of
   * the tone. `endMs` is the matching end.
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
  /** The same as a sentence for the clinician. */
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
  /** Times from which listening can resume, ascending. */
  resumePointsMs: z.array(ms).min(1),
  adjustments: z.array(adjustmentSchema),
});
export type TimedScript = z.infer<typeof timedScriptSchema>;
