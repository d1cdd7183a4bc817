import { z } from 'zod';
import { poseChangeSchema } from './pose.js';

const sides = ['right', 'left'] as const;
export const pairedParts = [
  'hand',
  'elbow',
  'knee',
  'thigh',
  'foot',
  'heel',
  'shoulder',
  'ribs',
  'hip',
  'buttock',
] as const;
export const singleParts = ['head', 'chin', 'nose', 'crown', 'belly', 'low-back', 'pelvis'] as const;

/** Parts of the body that a figure points at. */
const bodyParts = [
  ...singleParts,
  ...pairedParts.flatMap((part) => sides.map((side) => `${side}-${part}` as const)),
] as const;
const bodyPartSchema = z.enum(bodyParts);
export type BodyPart = z.infer<typeof bodyPartSchema>;
export type PairedPart = (typeof pairedParts)[number];
export type SinglePart = (typeof singleParts)[number];

export const directions = ['down', 'up', 'toward-head', 'toward-foot', 'to-right', 'to-left'] as const;
const directionSchema = z.enum(directions);
export type Direction = z.infer<typeof directionSchema>;

/** Props other than the bed and the supports of head and knees. */
export const props = [
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
] as const;
const propSchema = z.enum(props);
export type Prop = z.infer<typeof propSchema>;

const viewSchema = z.enum(['side', 'top', 'end']);

const markedPoseSchema = z.strictObject({
  /** The view of this pose, where it differs from the view of the exercise. */
  view: viewSchema.optional(),
  /** What changes from the pose before; in the first pose, from lying as the program says. */
  pose: poseChangeSchema.default({}),
  /** Moving parts: along the path from the previous pose, or in a given direction. */
  moves: z
    .array(
      z.union([
        bodyPartSchema.transform((part) => ({ part, to: null })),
        z.strictObject({ part: bodyPartSchema, to: directionSchema }),
      ]),
    )
    .default([]),
  /** What presses, and where to. */
  presses: z.array(z.strictObject({ part: bodyPartSchema, to: directionSchema.default('down') })).default([]),
  /** Muscles that tighten without visible movement. */
  tightens: z.array(bodyPartSchema).default([]),
  /** Parts for a helper to watch. */
  watch: z.array(bodyPartSchema).default([]),
});
export type MarkedPose = z.infer<typeof markedPoseSchema>;

/** How an exercise is drawn: its view, its poses, and its props. A one-sided exercise is drawn for the right side. */
export const figureSchema = z.strictObject({
  view: viewSchema,
  props: z.array(propSchema).default([]),
  poses: z.array(markedPoseSchema).min(1).max(4),
});
export type FigureSpec = z.infer<typeof figureSchema>;
