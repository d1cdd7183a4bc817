import { cm, jointOffsets } from './body.js';
import { type Arm, armOf, type Leg, legOf, sign } from './limbs.js';
import { type LegPose, onSide, type Pose, type Side } from './pose.js';
import { type Axes, type Lying, type Trunk, trunkOf } from './trunk.js';
import { from, scale, turn, type Vector } from './vector.js';

/** Every joint of a body in a pose, with the bed at height 0. */
export type Skeleton = {
  trunk: Trunk;
  legs: Readonly<Record<Side, Leg>>;
  arms: Readonly<Record<Side, Arm>>;
};

/** Computes the joints of a pose: first the trunk on its support, then the legs, then the arms, which may hold a leg. */
export function skeletonOf(pose: Pose, lying: Lying): Skeleton {
  const trunk = trunkOf(pose.trunk, lying);
  // Feet stay where they are when the hips are raised.
  const isLifted = pose.trunk.is === 'lying' && pose.trunk.liftDegrees > 0;
  const resting = isLifted ? trunkOf({ is: 'lying', liftDegrees: 0 }, lying) : trunk;
  const hipOf = ({ points, pelvis }: Trunk, side: Side): Vector =>
    from(points.pelvis, [pelvis.right, sign(side) * cm(jointOffsets.hip)]);
  const legFor = (side: Side) =>
    legOf(
      withAnkle(onSide(pose.legs, side), pose.ankleDegrees),
      side,
      hipOf(trunk, side),
      hipOf(resting, side),
      trunk,
    );
  const legs = { right: legFor('right'), left: legFor('left') };
  const armFor = (side: Side) =>
    armOf(
      onSide(pose.arms, side),
      side,
      shoulderOf(trunk, side),
      trunk,
      legs[side],
      legs[side === 'right' ? 'left' : 'right'],
    );
  const arms = { right: armFor('right'), left: armFor('left') };
  return { trunk: { ...trunk, head: turnedHead(trunk.head, pose.head) }, legs, arms };
}

function withAnkle(leg: LegPose, ankleDegrees: number): LegPose {
  return 'ankleDegrees' in leg ? { ...leg, ankleDegrees: leg.ankleDegrees + ankleDegrees } : leg;
}

function shoulderOf({ points, shoulders }: Trunk, side: Side): Vector {
  return from(
    points.upper,
    [shoulders.right, sign(side) * cm(jointOffsets.shoulder)],
    [shoulders.front, -cm(0.004)],
    [shoulders.cranial, -cm(0.006)],
  );
}

function turnedHead({ cranial, front, right }: Axes, { turnDegrees, tuckDegrees }: Pose['head']): Axes {
  const tucked = (axis: Vector) => turn(axis, right, tuckDegrees);
  const turned = (axis: Vector) => turn(axis, cranial, -turnDegrees);
  return { cranial: tucked(cranial), front: turned(tucked(front)), right: turned(scale(right, 1)) };
}
