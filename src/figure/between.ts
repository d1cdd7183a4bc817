import type { Arm, Leg } from './limbs.js';
import type { Side } from './pose.js';
import type { Skeleton } from './skeleton.js';
import type { Axes, SpinePoint, Trunk } from './trunk.js';
import { add, cross, distance, dot, length, scale, subtract, turn, unit, type Vector } from './vector.js';

/**
 * Interpolates between two poses. Every segment keeps its length and rotates from one direction to the other, through
 * the front of the body where the two directions are opposite.
 *
 * @param share 0 for the first pose, 1 for the second
 */
export function between(start: Skeleton, end: Skeleton, share: number): Skeleton {
  if (share <= 0) return start;
  if (share >= 1) return end;
  const trunk = trunkBetween(start.trunk, end.trunk, share);
  const sideOf = (side: Side) => {
    const hip = mix(start.legs[side].hip, end.legs[side].hip, share);
    const shoulder = mix(start.arms[side].shoulder, end.arms[side].shoulder, share);
    const bend = trunk.pelvis.front;
    return {
      leg: legBetween(start.legs[side], end.legs[side], hip, share, bend),
      arm: armBetween(start.arms[side], end.arms[side], shoulder, share, bend),
    };
  };
  const [right, left] = [sideOf('right'), sideOf('left')];
  return { trunk, legs: { right: right.leg, left: left.leg }, arms: { right: right.arm, left: left.arm } };
}

function trunkBetween(start: Trunk, end: Trunk, share: number): Trunk {
  const names = Object.keys(start.points) as SpinePoint[];
  const points = Object.fromEntries(
    names.map((name) => [name, mix(start.points[name], end.points[name], share)]),
  ) as Record<SpinePoint, Vector>;
  const axes = (a: Axes, b: Axes): Axes => {
    const cranial = swung(a.cranial, b.cranial, share, a.front);
    const front = unit(swung(a.front, b.front, share, a.cranial));
    return { cranial, front, right: cross(front, cranial) };
  };
  return {
    points,
    pelvis: axes(start.pelvis, end.pelvis),
    shoulders: axes(start.shoulders, end.shoulders),
    head: axes(start.head, end.head),
    resting: end.resting,
    headGapCm: start.headGapCm + (end.headGapCm - start.headGapCm) * share,
    floorCm: start.floorCm + (end.floorCm - start.floorCm) * share,
    inclineDegrees: end.inclineDegrees,
  };
}

function legBetween(a: Leg, b: Leg, hip: Vector, share: number, over: Vector): Leg {
  const knee = add(hip, segment([a.hip, a.knee], [b.hip, b.knee], share, over));
  const ankle = add(knee, segment([a.knee, a.ankle], [b.knee, b.ankle], share, over));
  return {
    hip,
    knee,
    ankle,
    heel: add(ankle, segment([a.ankle, a.heel], [b.ankle, b.heel], share, over)),
    toe: add(ankle, segment([a.ankle, a.toe], [b.ankle, b.toe], share, over)),
  };
}

function armBetween(a: Arm, b: Arm, shoulder: Vector, share: number, over: Vector): Arm {
  const elbow = add(shoulder, segment([a.shoulder, a.elbow], [b.shoulder, b.elbow], share, over));
  const wrist = add(elbow, segment([a.elbow, a.wrist], [b.elbow, b.wrist], share, over));
  return {
    shoulder,
    elbow,
    wrist,
    hand: add(wrist, segment([a.wrist, a.hand], [b.wrist, b.hand], share, over)),
  };
}

type Segment = readonly [Vector, Vector];

function segment([a, b]: Segment, [c, d]: Segment, share: number, over: Vector): Vector {
  const long = distance(a, b) + (distance(c, d) - distance(a, b)) * share;
  return scale(swung(unit(subtract(b, a)), unit(subtract(d, c)), share, over), long);
}

/** @param over the direction that a half turn passes through */
function swung(a: Vector, b: Vector, share: number, over: Vector): Vector {
  const axis = cross(a, b);
  const isHalfTurn = dot(a, b) < -0.6;
  if (!isHalfTurn && length(axis) < 1e-6) return b;
  if (!isHalfTurn) return turn(a, axis, share * degrees(a, b));
  const through = unit(add(over, scale(add(a, b), 0.5)));
  return share < 0.5
    ? turn(a, cross(a, through), share * 2 * degrees(a, through))
    : turn(through, cross(through, b), (share * 2 - 1) * degrees(through, b));
}

function degrees(a: Vector, b: Vector): number {
  return (Math.acos(Math.min(1, Math.max(-1, dot(unit(a), unit(b))))) * 180) / Math.PI;
}

function mix(a: Vector, b: Vector, share: number): Vector {
  return add(a, scale(subtract(b, a), share));
}
