import { cm, girths } from './body.js';
import { sign } from './limbs.js';
import type { Side } from './pose.js';
import { circle, type Point, polygon, type Shape, smooth } from './shape.js';
import type { Skeleton } from './skeleton.js';
import type { BodyPart, PairedPart, SinglePart } from './spec.js';
import { from, middle, radians, type Vector } from './vector.js';
import { projected, type View } from './view.js';

/** Returns the middle of a part of the body. */
export function placeOf(part: BodyPart, body: Skeleton): Vector {
  const [, side, paired] = /^(right|left)-(.+)$/.exec(part) ?? [];
  return side === undefined
    ? middlePlace(part as SinglePart, body)
    : sidePlace(paired as PairedPart, side as Side, body);
}

function middlePlace(part: SinglePart, { trunk: { points, head, pelvis } }: Skeleton): Vector {
  const headDepth = cm(girths.head.depth);
  switch (part) {
    case 'head':
      return points.head;
    case 'chin':
      return from(points.head, [head.cranial, -headDepth], [head.front, headDepth * 0.72]);
    case 'nose':
      return from(points.head, [head.front, headDepth * 1.25], [head.cranial, -cm(0.01)]);
    case 'crown':
      return from(points.head, [head.cranial, headDepth * 1.2]);
    case 'belly':
      return from(points.waist, [pelvis.front, cm(girths.waist.depth)]);
    case 'low-back':
      return from(points.waist, [pelvis.front, -cm(girths.waist.depth)]);
    case 'pelvis':
      return points.pelvis;
  }
}

function sidePlace(
  part: PairedPart,
  side: Side,
  { trunk: { points, pelvis }, legs, arms }: Skeleton,
): Vector {
  const [leg, arm] = [legs[side], arms[side]];
  const aside = (at: Vector, by: number) => from(at, [pelvis.right, sign(side) * by]);
  switch (part) {
    case 'ribs':
      return aside(points.chest, cm(girths.chest.width));
    case 'hip':
      return aside(points.pelvis, cm(girths.pelvis.width));
    case 'buttock':
      return from(aside(points.pelvis, cm(girths.pelvis.width) * 0.5), [pelvis.cranial, -cm(0.02)]);
    case 'hand':
      return arm.hand;
    case 'elbow':
      return arm.elbow;
    case 'shoulder':
      return arm.shoulder;
    case 'thigh':
      return middle(leg.hip, leg.knee);
    case 'knee':
      return leg.knee;
    case 'heel':
      return leg.heel;
    case 'foot':
      return leg.toe;
  }
}

/** A thin curved arrow along the path of a part. */
export function movementShapes(path: readonly Vector[], view: View): Shape[] {
  const points = path.map((point) => projected(point, view));
  const [tip, before] = [points.at(-1), points.at(-2)];
  if (tip === undefined || before === undefined) return [];
  const angle = Math.atan2(tip[1] - before[1], tip[0] - before[0]);
  return [
    { role: 'movement', d: smooth(points), lineCm: 1.7, hasHalo: true },
    { role: 'movement', d: head(tip, angle, 6, 3.2), hasHalo: true },
  ];
}

/** The same, straight on from a part. */
export function straightShapes(at: Point, toward: Point, longCm = 15): Shape[] {
  const angle = Math.atan2(toward[1], toward[0]);
  const along = (by: number): Point => [at[0] + by * Math.cos(angle), at[1] + by * Math.sin(angle)];
  return [
    {
      role: 'movement',
      d: smooth([along(3), along((3 + longCm) / 2), along(longCm)]),
      lineCm: 1.7,
      hasHalo: true,
    },
    { role: 'movement', d: head(along(longCm + 3), angle, 6, 3.2), hasHalo: true },
  ];
}

/** A short thick arrow with a bar at its tail: force, not movement. */
export function forceShapes(at: Point, toward: Point): Shape[] {
  const angle = Math.atan2(toward[1], toward[0]);
  const along = (by: number, aside: number): Point => [
    at[0] + by * Math.cos(angle) - aside * Math.sin(angle),
    at[1] + by * Math.sin(angle) + aside * Math.cos(angle),
  ];
  const shaft = polygon([along(0, -1.6), along(5, -1.6), along(5, 1.6), along(0, 1.6)]);
  const bar = polygon([along(-1.1, -4.2), along(0.6, -4.2), along(0.6, 4.2), along(-1.1, 4.2)]);
  return [{ role: 'force', d: `${bar}${shaft}${head(along(10, 0), angle, 5.4, 4)}`, hasHalo: true }];
}

/** Four wedges that point at one place: drawn together, without a way to go. */
export function tightenShapes([x, y]: Point): Shape[] {
  const wedges = [45, 135, 225, 315].map((degrees) => {
    const angle = radians(degrees);
    const tip: Point = [x + 1.4 * Math.cos(angle), y + 1.4 * Math.sin(angle)];
    return head(tip, angle + Math.PI, 4.6, 2.4);
  });
  return [{ role: 'force', d: wedges.join(''), hasHalo: true }];
}

/** A ring: look here. */
export function watchShapes(at: Point): Shape[] {
  return [{ role: 'watch', d: circle(at, 5.2), lineCm: 1.1, hasHalo: true, isDashed: true }];
}

function head(tip: Point, angle: number, long: number, half: number): string {
  const back = (by: number, aside: number): Point => [
    tip[0] - by * Math.cos(angle) - aside * Math.sin(angle),
    tip[1] - by * Math.sin(angle) + aside * Math.cos(angle),
  ];
  return polygon([tip, back(long, half), back(long * 0.72, 0), back(long, -half)]);
}
