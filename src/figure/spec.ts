import { z } from 'zod';
import { type Pose, type PoseInput, poseSchema } from './pose.js';

const sides = ['right', 'left'] as const;
const pairs = ['hand', 'elbow', 'knee', 'foot', 'shoulder', 'ribs', 'hip'] as const;

/** Parts of the body that a figure can point at. */
const bodyParts = [
  'head',
  'chin',
  'nose',
  'crown',
  'upper-back',
  'chest',
  'belly',
  'low-back',
  'pelvis',
  ...pairs.flatMap((part) => sides.map((side) => `${side}-${part}` as const)),
] as const;
const bodyPartSchema = z.enum(bodyParts);
export type BodyPart = z.infer<typeof bodyPartSchema>;

const directionSchema = z.enum(['down', 'up', 'toward-head', 'toward-foot', 'to-right', 'to-left']);

/** What lies about or is held, beside the bed and what carries the head and the knees, which the prescription says. */
const propSchema = z.enum([
  'pillow-between-knees',
  'pillow-on-belly',
  'pillow-above-head',
  'pillows-for-elbows',
  'roll-under-knee',
  'roll-under-heel',
  'roll-along-upper-back',
  'stick',
  'band',
  'strap-at-foot',
  'strap-at-ankle',
  'rail',
]);
export type Prop = z.infer<typeof propSchema>;

const viewSchema = z.enum(['side', 'top', 'end']);

const panelSchema = z.strictObject({
  /** From where it is seen, where that is not from where the exercise is. */
  view: viewSchema.optional(),
  /** What is different from the pose before; of the first one, from lying at rest. */
  pose: z.custom<Partial<PoseInput>>(),
  /** What moves: along its path from the pose before, or straight where a direction is named. */
  moves: z
    .array(
      z.union([
        bodyPartSchema.transform((part) => ({ part, to: null })),
        z.strictObject({ part: bodyPartSchema, to: directionSchema }),
      ]),
    )
    .default([]),
  /** What is pressed, and where to. */
  presses: z.array(z.strictObject({ part: bodyPartSchema, to: directionSchema.default('down') })).default([]),
  /** Where to look. */
  watch: z.array(bodyPartSchema).default([]),
});

/** How an exercise is drawn: from where, in which poses, with what. */
export const figureSchema = z.strictObject({
  view: viewSchema,
  props: z.array(propSchema).default([]),
  poses: z.array(panelSchema).min(1).max(4),
});
export type FigureSpec = z.infer<typeof figureSchema>;
export type FigureInput = z.input<typeof figureSchema>;

const atRest: PoseInput = {
  trunk: { is: 'lying' },
  legs: { both: { on: 'sole', kneeDegrees: 90 } },
  arms: { both: { on: 'bed', outDegrees: 20 } },
};

/** The poses in full, each with what is drawn about it. */
export function fullPoses(spec: FigureSpec): (Omit<z.infer<typeof panelSchema>, 'pose'> & { pose: Pose })[] {
  let before: PoseInput = atRest;
  return spec.poses.map((panel) => {
    before = { ...before, ...panel.pose };
    return { ...panel, pose: poseSchema.parse(before) };
  });
}
