import { between } from './between.js';
import { bodyShapes } from './bodyShapes.js';
import { type FullPose, fullPoses, lyingWith, type Support } from './fullPoses.js';
import { forceShapes, movementShapes, placeOf, straightShapes, tightenShapes, watchShapes } from './marks.js';
import type { Side } from './pose.js';
import { propShapes } from './props.js';
import { box, line, type Point, polygon, type Shape } from './shape.js';
import { type Skeleton, skeletonOf } from './skeleton.js';
import type { BodyPart, Direction, FigureSpec } from './spec.js';
import type { Lying } from './trunk.js';
import { from, radians, type Vector } from './vector.js';
import { projected, type View } from './view.js';

/** The visible area, in centimeters of the body. */
export type Frame = { left: number; top: number; width: number; height: number };

/** The drawing of one pose. */
export type Panel = {
  shapes: readonly Shape[];
  frame: Frame;
  /** How to mirror the drawing, which is made for the right side. */
  mirror: 'left-right' | 'top-bottom' | null;
};

type Body = FullPose & { body: Skeleton; seen: View; before: Skeleton };

/**
 * Draws an exercise, one panel per pose.
 *
 * @param support how the patient lies, as the program says
 * @param side the working side; an exercise without sides is drawn as for the right one
 */
export function figurePanels(spec: FigureSpec, support: Support, side: Side = 'right'): Panel[] {
  const lying = lyingWith(support);
  const bodies = bodiesOf(spec, support);
  const frames = framesOf(bodies);
  return bodies.map((each) => ({
    shapes: [...scene(each, spec, lying, frames[each.seen]), ...marksOf(each, lying)],
    frame: frames[each.seen],
    mirror: side === 'right' ? null : mirrors[each.seen],
  }));
}

/**
 * Draws the movement from the second-to-last pose to the last one in equal steps, including both ends.
 *
 * @returns no panels if nothing visibly moves
 */
export function movingPanels(spec: FigureSpec, support: Support, side: Side, steps: number): Panel[] {
  const bodies = bodiesOf(spec, support);
  const [start, end] = bodies.slice(-2);
  if (
    start === undefined ||
    end === undefined ||
    end.seen !== start.seen ||
    !end.moves.some(({ to }) => to === null)
  )
    return [];
  const frame = framesOf(bodies)[end.seen];
  return Array.from({ length: steps + 1 }, (_, step): Panel => {
    const body = between(start.body, end.body, step / steps);
    const shapes = scene({ ...end, body }, spec, lyingWith(support), frame);
    return { shapes, frame, mirror: side === 'right' ? null : mirrors[end.seen] };
  });
}

const mirrors: Readonly<Record<View, Panel['mirror']>> = {
  side: 'left-right',
  end: 'left-right',
  top: 'top-bottom',
};

function bodiesOf(spec: FigureSpec, support: Support): Body[] {
  const lying = lyingWith(support);
  let before: Skeleton | null = null;
  return fullPoses(spec, support).map((full) => {
    const body = skeletonOf(full.pose, lying);
    const each = { ...full, body, seen: full.view ?? spec.view, before: before ?? body };
    before = body;
    return each;
  });
}

/** Returns the smallest frame for each view, shared by all poses so that parts at rest stay in place. */
function framesOf(bodies: readonly Body[]): Record<View, Frame> {
  const reached = (view: View): Point[] =>
    bodies
      .filter(({ seen }) => seen === view)
      .flatMap((each) => reachOf(each).map((at) => projected(at, view)));
  const most = (points: readonly Point[], of: (point: Point) => number, least: number) =>
    Math.max(least, ...points.map((point) => of(point) + room));
  const [side, top, end] = [reached('side'), reached('top'), reached('end')];
  const above = most(side, ([, y]) => -y, 50);
  const below = most(side, ([, y]) => y, 18);
  const aside = most(top, ([, y]) => Math.abs(y), 54);
  const high = most(end, ([, y]) => -y, 70);
  return {
    side: { left: -112, top: -above, width: 224, height: above + below },
    top: { left: -112, top: -aside, width: 224, height: 2 * aside },
    end: { left: -62, top: -high, width: 130, height: high + 54 },
  };
}

/** Margin around the drawing, in centimeters of the body. */
const room = 8;

/** Returns the outermost points of a body and its marks. */
function reachOf({ body, before, moves }: Body): Vector[] {
  const { trunk, legs, arms } = body;
  return [
    from(trunk.points.head, [trunk.head.cranial, 8]),
    from(trunk.points.head, [trunk.head.front, 6]),
    from(trunk.points.head, [trunk.head.front, -6]),
    ...(['right', 'left'] as const).flatMap((side) => [
      ...Object.values(legs[side]),
      ...Object.values(arms[side]),
    ]),
    ...moves.flatMap(({ part, to }) =>
      to === null ? wayOf(part, before, body) : [from(placeOf(part, body), [towards[to], 14])],
    ),
  ];
}

function scene({ pose, body, seen }: Body, { props }: FigureSpec, lying: Lying, frame: Frame): Shape[] {
  const { behind, front } = propShapes(props, pose, body, seen);
  return [...ground(seen, body, lying, frame), ...behind, ...bodyShapes(body, pose, seen), ...front];
}

function ground(view: View, { trunk }: Skeleton, { inclineDegrees }: Lying, frame: Frame): Shape[] {
  if (view === 'top') {
    // A person on the side lies near the edge they face.
    const height = trunk.resting.front[2] > 0.5 ? 46 - (frame.top + 2) : frame.height - 4;
    return [{ role: 'bed', d: box(-110, frame.top + 2, 220, height, 4) }];
  }
  if (view === 'side')
    return [{ role: 'bed', d: inclineDegrees === 0 ? box(-110, 0, 220, 16, 3) : raisedBed(inclineDegrees) }];
  return [
    {
      role: 'floor',
      d: line([frame.left + 2, -trunk.floorCm], [frame.left + frame.width - 2, -trunk.floorCm]),
      lineCm: 1.2,
    },
    // Only the visible part of the bed.
    { role: 'bed', d: box(frame.left + 2, 0, 6 - frame.left, 14, 3) },
  ];
}

/** A mattress whose head end is raised: it bends under the hips. */
function raisedBed(degrees: number): string {
  const [cos, sin] = [Math.cos(radians(degrees)), Math.sin(radians(degrees))];
  const head: Point = [-98 * cos, -98 * sin];
  const under: Point = [head[0] + 16 * sin, head[1] + 16 * cos];
  return polygon([[0, 0], [110, 0], [110, 16], [4, 16], under, head]);
}

function marksOf({ body, before, seen, moves, presses, tightens, watch }: Body, lying: Lying): Shape[] {
  return [
    ...moves.flatMap(({ part, to }) => movement(before, body, part, to, seen)),
    ...presses.flatMap(({ part, to }) => force(body, part, to, seen, lying)),
    ...tightens.flatMap((part) => tightenShapes(projected(placeOf(part, body), seen))),
    ...watch.flatMap((part) => watchShapes(projected(placeOf(part, body), seen))),
  ];
}

function movement(start: Skeleton, end: Skeleton, part: BodyPart, to: Direction | null, view: View): Shape[] {
  if (to === null) return movementShapes(wayOf(part, start, end), view);
  const long = smallMovers.includes(part) ? 10 : 15;
  return straightShapes(projected(placeOf(part, end), view), projected(towards[to], view), long);
}

/** Parts that move only a centimeter or two get a short arrow. */
const smallMovers: readonly BodyPart[] = ['nose', 'chin', 'crown', 'belly', 'right-ribs', 'left-ribs'];

/** Returns the path of a part from one pose to the next, leaving room for the arrowhead at both ends. */
function wayOf(part: BodyPart, start: Skeleton, end: Skeleton): Vector[] {
  const steps = 7;
  return Array.from({ length: steps + 1 }, (_, step) =>
    placeOf(part, between(start, end, 0.1 + (0.84 * step) / steps)),
  );
}

const towards: Readonly<Record<Direction, Vector>> = {
  down: [0, -1, 0],
  up: [0, 1, 0],
  'toward-head': [-1, 0, 0],
  'toward-foot': [1, 0, 0],
  'to-right': [0, 0, 1],
  'to-left': [0, 0, -1],
};

function force(body: Skeleton, part: BodyPart, to: Direction, view: View, lying: Lying): Shape[] {
  const at = placeOf(part, body);
  if (to !== 'down' || view !== 'side') return forceShapes(projected(at, view), projected(towards[to], view));
  // A downward press is drawn inside the bed, perpendicular to its surface.
  const { foot, into } = intoBed(at, lying);
  return forceShapes(projected(foot, view), projected(into, view));
}

/** Returns the point just below the bed's surface under a given point, and the direction into the bed. */
function intoBed(at: Vector, { inclineDegrees }: Lying): { foot: Vector; into: Vector } {
  const depth = 3;
  if (at[0] >= 0 || inclineDegrees === 0) return { foot: [at[0], -depth, at[2]], into: [0, -1, 0] };
  const [cos, sin] = [Math.cos(radians(inclineDegrees)), Math.sin(radians(inclineDegrees))];
  const along = at[0] * cos - at[1] * sin;
  return { foot: [along * cos - depth * sin, -along * sin - depth * cos, at[2]], into: [-sin, -cos, 0] };
}
