import { cm, girths } from './body.js';

import { circle, type Point, polygon, type Shape, smooth } from './shape.js';
import type { Skeleton } from './skeleton.js';
import type { BodyPart } from './spec.js';
import { from, middle, radians, type Vector } from './vector.js';
import { projected, type View } from './view.js';

/** Where a part of the body is: the middle of it. */
export function placeOf(part: BodyPart, { trunk, legs, arms }: Skeleton): Vector {
  const { points, head, pelvis } = trunk;
  switch (part) {
    case 'head':
      return points.head;
    case 'chin':
      return from(
        points.head,
        [head.cranial, -cm(girths.head.depth) * 1.0],
        [head.front, cm(girths.head.depth) * 0.72],
      );
    case 'nose':
      return from(points.head, [head.front, cm(girths.head.depth) * 1.25], [head.cranial, -cm(0.01)]);
    case 'right-ribs':
      return from(points.chest, [pelvis.right, cm(girths.chest.width)]);
    case 'left-ribs':
      return from(points.chest, [pelvis.right, -cm(girths.chest.width)]);
    case 'right-hip':
      return from(points.pelvis, [pelvis.right, cm(girths.pelvis.width)]);
    case 'left-hip':
      return from(points.pelvis, [pelvis.right, -cm(girths.pelvis.width)]);
    case 'crown':
      return from(points.head, [head.cranial, cm(girths.head.depth) * 1.2]);
    case 'belly':
      return from(points.waist, [pelvis.front, cm(girths.waist.depth)]);
    case 'low-back':
      return from(points.waist, [pelvis.front, -cm(girths.waist.depth)]);
    case 'pelvis':
      return points.pelvis;
    case 'right-buttock':
      return from(points.pelvis, [pelvis.right, cm(girths.pelvis.width) * 0.5], [pelvis.cranial, -cm(0.02)]);
    case 'left-buttock':
      return from(points.pelvis, [pelvis.right, -cm(girths.pelvis.width) * 0.5], [pelvis.cranial, -cm(0.02)]);
    case 'right-hand':
      return arms.right.hand;
    case 'left-hand':
      return arms.left.hand;
    case 'right-elbow':
      return arms.right.elbow;
    case 'left-elbow':
      return arms.left.elbow;
    case 'right-knee':
      return legs.right.knee;
    case 'left-knee':
      return legs.left.knee;
    case 'right-thigh':
      return middle(legs.right.hip, legs.right.knee);
    case 'left-thigh':
      return middle(legs.left.hip, legs.left.knee);
    case 'right-heel':
      return legs.right.heel;
    case 'left-heel':
      return legs.left.heel;
    case 'right-foot':
      return legs.right.toe;
    case 'left-foot':
      return legs.left.toe;
    case 'right-shoulder':
      return arms.right.shoulder;
    case 'left-shoulder':
      return arms.left.shoulder;
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
