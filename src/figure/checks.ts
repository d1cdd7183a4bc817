import { cm, radii, ranges } from './body.js';
import { fullPoses, lyingWith, type Support } from './fullPoses.js';
import type { Arm, Leg } from './limbs.js';
import { onSide, type Pose, type Side } from './pose.js';
import { type Skeleton, skeletonOf } from './skeleton.js';
import type { FigureSpec } from './spec.js';
import type { Trunk } from './trunk.js';
import { across, angleBetween, degreesOf, dot, scale, subtract, type Vector } from './vector.js';

/** A problem with a pose: the joint or part, the value found, and the allowed values. */
export type PoseProblem = { part: string; found: string; allowed: string };

/** A problem with a figure, and the pose that has it. */
export type FigureProblem = PoseProblem & { poseIndex: number };

/** Returns the problems of every pose of a figure; see {@link poseProblems}. */
export function figureProblems(spec: FigureSpec, support: Support): FigureProblem[] {
  const lying = lyingWith(support);
  return fullPoses(spec, support).flatMap(({ pose }, poseIndex) =>
    poseProblems(pose, skeletonOf(pose, lying)).map((problem) => ({ ...problem, poseIndex })),
  );
}

/** How far a limb may sink into a soft bed, and how far above it a foot may be, in centimeters. Our choice. */
const sinkCm = 1.2;
const floatCm = 1;

/**
 * Returns why a person cannot take up a pose: a joint outside its normal range, a limb through the bed, a sole or heel
 * above it, or a head below it. Empty for a valid pose.
 */
export function poseProblems(pose: Pose, body: Skeleton): PoseProblem[] {
  return [
    ...(['right', 'left'] as const).flatMap((side) => [
      ...jointProblems(body, side),
      ...contactProblems(pose, body, side),
    ]),
    ...headProblems(pose, body),
  ];
}

function jointProblems({ trunk, legs, arms }: Skeleton, side: Side): PoseProblem[] {
  const { hipFlexion, kneeFlexion, elbowFlexion, shoulderFlexion } = jointAngles(
    trunk,
    legs[side],
    arms[side],
  );
  return [
    ...inRange(`${side} hip flexion`, hipFlexion, ranges.hipFlexion),
    ...inRange(`${side} knee flexion`, kneeFlexion, ranges.kneeFlexion),
    ...inRange(`${side} elbow flexion`, elbowFlexion, ranges.elbowFlexion),
    ...inRange(`${side} shoulder elevation`, shoulderFlexion, ranges.shoulderFlexion),
  ];
}

/** The angles at the joints of one side, in degrees, as a goniometer would read them. */
export function jointAngles({ pelvis, shoulders }: Trunk, leg: Leg, arm: Arm) {
  const thigh = subtract(leg.knee, leg.hip);
  const shank = subtract(leg.ankle, leg.knee);
  const upperArm = subtract(arm.elbow, arm.shoulder);
  const caudal = scale(pelvis.cranial, -1);
  return {
    hipFlexion: flexion(across(thigh, pelvis.right), caudal, pelvis.front),
    hipAbduction: Math.abs(90 - angleBetween(thigh, pelvis.right)),
    kneeFlexion: angleBetween(thigh, shank),
    elbowFlexion: angleBetween(upperArm, subtract(arm.wrist, arm.elbow)),
    /** From beside the body, whichever way. */
    shoulderFlexion: angleBetween(upperArm, scale(shoulders.cranial, -1)),
  };
}

/** Positive toward the front. */
function flexion(limb: Vector, rest: Vector, front: Vector): number {
  return degreesOf(Math.atan2(dot(limb, front), dot(limb, rest)));
}

function inRange(part: string, found: number, [least, most]: readonly [number, number]): PoseProblem[] {
  // A tenth of a degree is within what a solution may be off.
  if (found >= least - 0.1 && found <= most + 0.1) return [];
  return [{ part, found: `${Math.round(found)} degrees`, allowed: `${least} to ${most} degrees` }];
}

type Height = readonly [part: string, at: Vector, radius: number];

function contactProblems(pose: Pose, { trunk, legs, arms }: Skeleton, side: Side): PoseProblem[] {
  if (pose.trunk.is !== 'lying') return [];
  const leg = legs[side];
  const arm = arms[side];
  const legHeights: readonly Height[] = [
    ['knee', leg.knee, cm(radii.knee)],
    ['heel', leg.heel, cm(radii.heel)],
    ['toes', leg.toe, cm(radii.toe)],
  ];
  const heights: readonly Height[] = [
    ...(onSide(pose.legs, side).on === 'over-edge' ? [] : legHeights),
    ['elbow', arm.elbow, cm(radii.elbow)],
    ['wrist', arm.wrist, cm(radii.wrist)],
    ['hand', arm.hand, cm(radii.fingers)],
  ];
  const through = heights
    .filter(([, [, y], radius]) => y - radius < trunk.floorCm - sinkCm)
    .map(([part, [, y], radius]) => ({
      part: `${side} ${part}`,
      found: `${(radius - y).toFixed(1)} cm in the bed`,
      allowed: `at most ${sinkCm} cm`,
    }));
  const { on } = onSide(pose.legs, side);
  const rests = on === 'sole' ? [leg.heel, leg.toe] : on === 'heel' ? [leg.heel] : [];
  const floating = rests
    .filter(([, y]) => y - cm(radii.heel) > floatCm)
    .map(([, y]) => ({
      part: `${side} foot`,
      found: `${(y - cm(radii.heel)).toFixed(1)} cm over the bed`,
      allowed: `on the bed`,
    }));
  return [...through, ...floating];
}

/** Checks that the head is not below the bed. `trunkOf` rejects gaps that no back can have. */
function headProblems(pose: Pose, { trunk }: Skeleton): PoseProblem[] {
  if (pose.trunk.is !== 'lying' || trunk.headGapCm >= -0.5) return [];
  return [
    { part: 'head', found: `${trunk.headGapCm.toFixed(1)} cm over the bed`, allowed: 'on the bed or higher' },
  ];
}
