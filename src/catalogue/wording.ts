import { z } from 'zod';
import { changeKindSchema } from './changeKinds.js';

/** The loads of a movement; precautions match against these. */
export const loadTags = [
  'lying-flat',
  'isometric-general',
  'isometric-neck',
  'isometric-trunk',
  'overhead-reach',
  'shoulder-rotation',
  'spinal-flexion',
  'spinal-extension',
  'spinal-rotation',
  'hip-flexion',
  'hip-rotation',
  'hip-abduction',
  'hip-adduction',
  'knee-flexion',
  'weight-through-arm',
  'weight-through-leg',
  'raised-abdominal-pressure',
  'breath-coupled',
  'position-change',
  'end-range-stretch',
  'spinal-extension-over-support',
  'neck-rotation',
  'arm-raise',
  'resistance-band',
  'hip-extension',
  'knee-extension-stretch',
  'coughing',
  'bed-edge',
  'skin-shear',
] as const;

export const loadTagSchema = z.enum(loadTags);
export type LoadTag = z.infer<typeof loadTagSchema>;

/** The purposes of an exercise; a clinician filters by these. */

export const purposes = [
  'posture',
  'strength',
  'mobility',
  'stretch',
  'breathing',
  'relaxation',
  'circulation',
  'pelvic-floor',
  'transition',
] as const;

export const purposeSchema = z.enum(purposes);
export const bodyPositions = [
  'supine-legs-straight',
  'supine-knees-bent',
  'supine-knees-supported',
  'side-lying',
  'sitting-on-edge',
  'moving-between',
] as const;

export const bodyPositionSchema = z.enum(bodyPositions);

/** A sentence or two with an optional shorter form, used if there is less room or the set-up is already known. */

export const phraseSchema = z
  .union([
    z.string().min(1),
    z.strictObject({ full: z.string().min(1), short: z.string().min(1).optional() }),
  ])
  .transform((value) =>
    typeof value === 'string'
      ? { full: value, short: null }
      : { full: value.full, short: value.short ?? null },
  );
export type Phrase = z.infer<typeof phraseSchema>;

/** One phrase, or several variants with the same meaning, so that day 12 does not sound like day 1. */

export const wordingSchema = z
  .union([phraseSchema, z.array(phraseSchema).min(1)])
  .transform((value) => (Array.isArray(value) ? value : [value]));
export type Wording = z.infer<typeof wordingSchema>;

/** A spoken line of set-up or talk. */

export const lineSchema = z
  .strictObject({
    say: wordingSchema,
    /** `first`: only in session 1. `later`: only from session 2 on. Omitted: always. */
    only: z.enum(['first', 'later']).optional(),
    /** Silence after the line, so that the listener can do what it says. */
    pauseAfterSeconds: z.number().min(0).max(30).optional(),
    /** The change of position that the line asks for; the program sets this patient's time for it. */
    takes: changeKindSchema.optional(),
    /** Names the topic of the line, so that a precaution's adaptation can leave it out. */
    tag: z
      .string()
      .regex(/^[a-z][a-z0-9-]*$/)
      .optional(),
  })
  .refine((line) => line.takes === undefined || line.pauseAfterSeconds === undefined, {
    message: 'a line has either takes or pauseAfterSeconds',
    path: ['takes'],
  });
export type Line = z.infer<typeof lineSchema>;
export const linesSchema = z.array(lineSchema);
