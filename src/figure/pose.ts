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
    hipDegrees: degrees(-20, 100),
    kneeDegrees: degrees(0, 135),
    outDegrees,
    ankleDegrees,
  }),
  /** The sole on the floor. */
  z.strictObject({ on: z.literal('floor') }),
]);

/** Where a hand lies on the body, or on the edge of the bed beside it. */
export const bodyTargets = [
  'belly',
  'ribs',
  'thigh',
  'behind-knee',
  'behind-other-knee',
  'pelvis',
  'temple',
  'opposite-shoulder',
  'edge',
] as const;
const bodyTargetSchema = z.enum(bodyTargets);

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

const headPoseSchema = z.strictObject({
  turnDegrees: degrees(-60, 60).default(0),
  tuckDegrees: degrees(-30, 30).default(0),
});

const parts = {
  trunk: trunkPoseSchema,
  legs: pairOf(legPoseSchema),
  arms: pairOf(armPoseSchema),
  /** Open, or closed to fists. */
  hands: z.enum(['open', 'fists']),
  /** The face turned to the right (positive) or left, and the chin tucked (positive) or tipped, from level. */
  head: headPoseSchema,
  /** Feet drawn up toward the shins (positive) or pointed, beside what a leg says of its own. */
  ankleDegrees: degrees(-50, 20),
};
export type Pose = z.infer<z.ZodObject<typeof parts>>;

/** The changes from the previous pose. */
export const poseChangeSchema = z.strictObject(parts).partial();
export type PoseChange = z.infer<typeof poseChangeSchema>;

export type LegPose = z.infer<typeof legPoseSchema>;
export type ArmPose = z.infer<typeof armPoseSchema>;
export type TrunkPose = z.infer<typeof trunkPoseSchema>;
export type Side = 'right' | 'left';
type Pair<Limb> = { both: Limb } | { right: Limb; left: Limb };

/** Returns the limb of one side. */
export function onSide<Limb>(pair: Pair<Limb>, side: Side): Limb {
  return 'both' in pair ? pair.both : pair[side];
}
