import { z } from 'zod';

/** The position of the body. */
const positions = ['standing', 'sitting-on-edge', 'side-lying', 'supine'] as const;
const positionSchema = z.enum(positions);
export type Position = z.infer<typeof positionSchema>;

/** The position of the legs; `one-bent`: the working leg straight, the other knee bent with the foot flat. */
const legPostures = ['straight', 'bent', 'over-pillow', 'one-bent'] as const;
const legPostureSchema = z.enum(legPostures);
export type LegPosture = z.infer<typeof legPostureSchema>;

/** The posture in which an exercise starts. */
const startSchema = z.strictObject({
  position: positionSchema,
  /** The leg postures that it can be done in, the preferred one first; omitted if the legs do not matter. */
  legs: z.array(legPostureSchema).min(1).optional(),
});

/** The postures of an exercise: it starts in `from` and ends in `to`; without `to` it ends as it started. */
export const pathSchema = z.strictObject({
  from: startSchema,
  to: z.strictObject({ position: positionSchema, legs: legPostureSchema.optional() }).optional(),
});
export type Path = z.infer<typeof pathSchema>;
