import { between } from './between.js';
import { bodyShapes, projected } from './bodyShapes.js';
import { forceShapes, movementShapes, placeOf, straightShapes, watchShapes } from './marks.js';
import { propShapes } from './props.js';
import { box, line, type Point, polygon, type Shape, type View } from './shape.js';
import { type Skeleton, skeletonOf } from './skeleton.js';
import { type BodyPart, type FigureSpec, fullPoses } from './spec.js';
import type { Frame } from './svg.js';
import type { Lying } from './trunk.js';
import { radians, type Vector } from './vector.js';

export type Panel = { shapes: Shape[]; frame: Frame };

const frames: Readonly<Record<View, Frame>> = {
  side: { left: -112, top: -88, width: 224, height: 106 },
  top: { left: -112, top: -62, width: 224, height: 124 },
  end: { left: -70, top: -124, width: 150, height: 176 },
};

/** The figures of an exercise, one a pose. */
export function figurePanels(spec: FigureSpec, lying: Lying): Panel[] {
  const poses = fullPoses(spec).map((panel) => ({ ...panel, body: skeletonOf(panel.pose, lying) }));
  return poses.map(({ pose, body, moves, presses, watch, view = spec.view }, index) => {
    const before = poses[index - 1]?.body ?? body;
    const marks = [
      ...moves.flatMap(({ part, to }) => movement(before, body, part, to, view)),
      ...presses.flatMap(({ part, to }) => force(body, part, to, view)),
      ...watch.flatMap((part) => watchShapes(projected(placeOf(part, body), view))),
    ];
    const { behind, front } = propShapes(spec.props, pose, body, view);
    return {
      shapes: [...ground(view, body, lying), ...behind, ...bodyShapes(body, view), ...front, ...marks],
      frame: frames[view],
    };
  });
}

function ground(view: View, { trunk }: Skeleton, { inclineDegrees }: Lying): Shape[] {
  if (view === 'top') return [{ role: 'bed', d: box(-110, -60, 220, 120, 4) }];
  if (view === 'side')
    return [{ role: 'bed', d: inclineDegrees === 0 ? box(-110, 0, 220, 16, 3) : raisedBed(inclineDegrees) }];
  const floor = -trunk.floorCm;
  return [
    { role: 'floor', d: line([-70, floor], [80, floor]), lineCm: 1.2 },
    { role: 'bed', d: box(-90, 0, 98, 14, 3) },
  ];
}

/** A mattress whose head end is raised: it bends under the hips. */
function raisedBed(degrees: number): string {
  const [cos, sin] = [Math.cos(radians(degrees)), Math.sin(radians(degrees))];
  const head: Point = [-98 * cos, -98 * sin];
  const under: Point = [head[0] + 16 * sin, head[1] + 16 * cos];
  return polygon([[0, 0], [110, 0], [110, 16], [4, 16], under, head]);
}

function movement(start: Skeleton, end: Skeleton, part: BodyPart, to: string | null, view: View): Shape[] {
  if (to !== null)
    return straightShapes(projected(placeOf(part, end), view), projected(directions[to] ?? [0, 1, 0], view));
  const steps = 9;
  const path = Array.from({ length: steps + 1 }, (_, step) =>
    placeOf(part, between(start, end, 0.1 + (0.84 * step) / steps)),
  );
  return movementShapes(path, [0, 0, 0], view);
}

const directions: Readonly<Record<string, Vector>> = {
  down: [0, -1, 0],
  up: [0, 1, 0],
  'toward-head': [-1, 0, 0],
  'toward-foot': [1, 0, 0],
  'to-right': [0, 0, 1],
  'to-left': [0, 0, -1],
};

function force(body: Skeleton, part: BodyPart, to: string, view: View): Shape[] {
  const at = placeOf(part, body);
  const toward = projected(directions[to] ?? [0, -1, 0], view);
  const [x] = projected(at, view);
  // What presses down presses into the bed: the arrow stands in it.
  const start: Point = to === 'down' && view === 'side' ? [x, 3] : projected(at, view);
  return forceShapes(start, toward);
}
