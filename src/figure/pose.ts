import { z } from 'zod';

const degrees = (least: number, most: number) => z.number().min(least).max(most);

/** How the trunk lies, sits or stands. */
const trunkPoseSchema = z.discriminatedUnion('is', [
  /** On the back; `liftDegrees` raises the pelvis from the shoulders up. */
  z.strictObject({ is: z.literal('lying'), liftDegrees: degrees(0, 40).default(0) }),
  /** On the near side, the whole body in one line. */
  z.strictObject({ is: z.literal('side-lying') }),
  /** Sitting on the edge, upright. */
  z.strictObject({ is: z.literal('sitting'), leanDegrees: degrees(-30, 45).default(0) }),
  z.strictObject({ is: z.literal('standing'), leanDegrees: degrees(-10, 45).default(0) }),
]);

const ankleDegrees = degrees(-50, 20).default(0);
const outDegrees = degrees(-45, 60).default(0);

const legPoseSchema = z.discriminatedUnion('on', [
  /** The sole on the bed, the knee bent. */
  z.strictObject({ on: z.literal('sole'), kneeDegrees: degrees(10, 135), outDegrees }),
  /** The heel on the bed. */
  z.strictObject({
    on: z.literal('heel'),
    kneeDegrees: degrees(0, 135).default(4),
    outDegrees,
    ankleDegrees,
  }),
  /** Free of the bed. */
  z.strictObject({
    on: z.literal('nothing'),
    hipDegrees: degrees(-20, 120),
    kneeDegrees: degrees(0, 135),
    outDegrees,
    ankleDegrees,
  }),
  /** Hanging over the edge of the bed, at the side to which it is let out. */
  z.strictObject({
    on: z.literal('over-edge'),
    hipDegrees: degrees(-20, 30),
    kneeDegrees: degrees(0, 135),
    outDegrees,
    ankleDegrees,
  }),
  /** The sole on the floor. */
  z.strictObject({ on: z.literal('floor') }),
]);

const bodyTargetSchema = z.enum([
  'belly',
  'ribs',
  'thigh',
  'behind-knee',
  'pelvis',
  'temple',
  'opposite-shoulder',
  'edge',
]);

const armPoseSchema = z.discriminatedUnion('on', [
  /** The upper arm on the bed; the forearm too, unless the elbow is bent with the hand up. */
  z.strictObject({
    on: z.literal('bed'),
    outDegrees: degrees(0, 150),
    elbowDegrees: degrees(0, 150).default(6),
    /** `flat`: the forearm lies on the bed as well; `up`: it points away from the bed. */
    forearm: z.enum(['flat', 'up']).default('flat'),
    /** How far a forearm that points up is let out to its side. */
    openDegrees: degrees(-60, 80).default(0),
  }),
  /** Free: raised forward from the side of the body (0) to the ceiling (90) and overhead (180). */
  z.strictObject({
    on: z.literal('nothing'),
    raiseDegrees: degrees(-60, 180),
    outDegrees: degrees(-50, 90).default(0),
    elbowDegrees: degrees(0, 150).default(6),
  }),
  /** The hand on the body. */
  z.strictObject({ on: z.literal('body'), hand: bodyTargetSchema }),
]);

const pairOf = <Shape extends z.ZodType>(schema: Shape) =>
  z.union([z.strictObject({ both: schema }), z.strictObject({ right: schema, left: schema })]);

export const poseSchema = z.strictObject({
  trunk: trunkPoseSchema,
  legs: pairOf(legPoseSchema),
  arms: pairOf(armPoseSchema),
  /** Fists in place of open hands. */
  areFists: z.boolean().default(false),
  /** The face turned to the right (positive) or left, and the chin tucked (positive) or tipped, from level. */
  head: z
    .strictObject({ turnDegrees: degrees(-60, 60).default(0), tuckDegrees: degrees(-30, 30).default(0) })
    .default({ turnDegrees: 0, tuckDegrees: 0 }),
});
export type Pose = z.infer<typeof poseSchema>;
export type PoseInput = z.input<typeof poseSchema>;
export type LegPose = z.infer<typeof legPoseSchema>;
export type ArmPose = z.infer<typeof armPoseSchema>;
export type TrunkPose = z.infer<typeof trunkPoseSchema>;
export type Side = 'right' | 'left';

/** What one side does. */
export function onSide<Limb>(pair: { both: Limb } | { right: Limb; left: Limb }, side: Side): Limb {
  return 'both' in pair ? pair.both : pair[side];
}
