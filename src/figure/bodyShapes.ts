import { cm, girths, radii } from './body.js';
import { headShapes } from './headShapes.js';
import type { Arm, Leg } from './limbs.js';
import type { Pose, Side } from './pose.js';
import { hull, type Point, polygon, type Role, type Shape, taper } from './shape.js';
import type { Skeleton } from './skeleton.js';
import type { Axes, SpinePoint } from './trunk.js';
import { middle, scale, type Vector } from './vector.js';
import { nearness, projected, type View } from './view.js';

/** Returns the shapes of a body in drawing order, the farthest first. */
export function bodyShapes(skeleton: Skeleton, { hands }: Pose, view: View): Shape[] {
  const parts = [
    ...(['right', 'left'] as const).flatMap((side) => [
      legPart(skeleton, side, view),
      armPart(skeleton, side, hands, view),
    ]),
    { near: trunkNearness(skeleton, view), shapes: trunkShapes(skeleton, view) },
  ];
  return parts.sort((a, b) => a.near - b.near).flatMap(({ shapes }) => shapes);
}

type Part = { near: number; shapes: Shape[] };

/** Returns the drawing depth of the trunk: between the limbs when seen from the side, below an arm that rests on it. */
function trunkNearness({ trunk }: Skeleton, view: View): number {
  return nearness(trunk.points.waist, view);
}

function legPart({ legs, trunk }: Skeleton, side: Side, view: View): Part {
  const leg = legs[side];
  const role = roleOf(leg.hip, legs[side === 'right' ? 'left' : 'right'].hip, trunk.pelvis, view);
  const near = legNearness(leg, trunk.points.pelvis, view);
  if (view !== 'top' || leg.knee[1] - leg.ankle[1] < 15)
    return { near, shapes: [limb(legPath(leg), role, view)] };
  // Seen from above, a lighter shin distinguishes a bent knee from a straight leg.
  const [[hip, knee, ankle] = [], ...foot] = legPath(leg);
  if (hip === undefined || knee === undefined || ankle === undefined) return { near, shapes: [] };
  return {
    near,
    shapes: [
      limb([[knee, ankle], ...foot], 'far', view),
      limb([[hip, [knee[0], knee[1] * 1.15]]], role, view),
    ],
  };
}

function armPart({ arms, trunk }: Skeleton, side: Side, hands: Pose['hands'], view: View): Part {
  const arm = arms[side];
  const role = roleOf(arm.shoulder, arms[side === 'right' ? 'left' : 'right'].shoulder, trunk.pelvis, view);
  const shoulder = nearness(arm.shoulder, view);
  return {
    near: shoulder + (nearness(middle(arm.elbow, arm.wrist), view) - shoulder) * 0.6,
    shapes: [
      limb(handPath(arm, hands), role === 'near' ? 'skin' : role, view),
      limb(armPath(arm), role, view),
    ],
  };
}

function legNearness(leg: Leg, pelvis: Vector, view: View): number {
  return view === 'side' ? nearness(leg.hip, view) : nearness(pelvis, view) - 0.1;
}

/** Seen from a side, the limbs of the far side are light. */
function roleOf(own: Vector, other: Vector, axes: Axes, view: View): Role {
  const aside = nearness(axes.right, view);
  if (Math.abs(aside) < 0.6) return 'near';
  return nearness(own, view) >= nearness(other, view) ? 'near' : 'far';
}

type Joint = readonly [Vector, number];

function legPath({ hip, knee, ankle, heel, toe }: Leg): Joint[][] {
  return [
    [
      [hip, cm(radii.hip)],
      [knee, cm(radii.knee)],
      [ankle, cm(radii.ankle)],
    ],
    [
      [heel, cm(radii.heel)],
      [toe, cm(radii.toe)],
    ],
    [
      [ankle, cm(radii.ankle)],
      [heel, cm(radii.heel)],
    ],
  ];
}

function armPath({ shoulder, elbow, wrist }: Arm): Joint[][] {
  return [
    [
      [shoulder, cm(radii.shoulder)],
      [elbow, cm(radii.elbow)],
      [wrist, cm(radii.wrist)],
    ],
  ];
}

function handPath({ wrist, hand }: Arm, hands: Pose['hands']): Joint[][] {
  const isFist = hands === 'fists';
  const end = isFist ? middle(wrist, hand) : hand;
  return [
    [
      [wrist, cm(radii.wrist) * 0.95],
      [end, cm(isFist ? radii.fist : radii.fingers)],
    ],
  ];
}

function limb(paths: readonly Joint[][], role: Role, view: View): Shape {
  const pieces = paths.flatMap((joints) =>
    joints.slice(1).map(([end, endRadius], index) => {
      const [start, startRadius] = joints[index] ?? [end, endRadius];
      return taper(projected(start, view), startRadius, projected(end, view), endRadius);
    }),
  );
  return { role, d: pieces.join(''), hasHalo: true };
}

const rimPoints = 14;
const normals = Array.from({ length: rimPoints }, (_, step): Point => {
  const angle = (step / rimPoints) * 2 * Math.PI;
  return [Math.cos(angle), Math.sin(angle)];
});

type Ring = { at: Vector; depth: number; width: number; axes: Axes };

/** How finely the trunk is followed between the points of the spine. */
const ringsBetween = 2;

function trunkShapes({ trunk }: Skeleton, view: View): Shape[] {
  const { points } = trunk;
  const ring = (name: SpinePoint, girth: keyof typeof girths, axes: Axes): Ring => ({
    at: points[name],
    depth: cm(girths[girth].depth),
    width: cm(girths[girth].width),
    axes,
  });
  const torso = followed([
    ring('pelvis', 'pelvis', trunk.pelvis),
    ring('waist', 'waist', trunk.pelvis),
    ring('chest', 'chest', trunk.shoulders),
    ring('upper', 'upper', trunk.shoulders),
  ]);
  const slim = (name: SpinePoint, size: number): Ring => ({
    at: points[name],
    depth: cm(girths.neck.depth) * size,
    width: cm(girths.neck.width) * size,
    axes: trunk.shoulders,
  });
  const inHead: Ring = { ...slim('skull', 1.02), at: middle(points.skull, points.head) };
  const neck = [slim('upper', 1.45), slim('root', 1.16), inHead];
  const drawn = (rings: readonly Ring[]) => {
    const rims = rings.map((each) => rim(each, view));
    return rims
      .slice(1)
      .map((end, index) => polygon(hull([...(rims[index] ?? []), ...end])))
      .join('');
  };
  return [
    { role: 'skin', d: drawn(neck) },
    { role: 'trunk', d: drawn(torso) },
    ...headShapes(points.head, trunk.head, view),
  ];
}

/** Rings through and between given ones, along a smooth line. */
function followed(rings: readonly Ring[]): Ring[] {
  const at = (index: number) => rings[Math.min(rings.length - 1, Math.max(0, index))];
  return rings.flatMap((ring, index) => {
    const [before, next, after] = [at(index - 1), at(index + 1), at(index + 2)];
    if (before === undefined || next === undefined || after === undefined || index === rings.length - 1)
      return [ring];
    return Array.from({ length: ringsBetween }, (_, step): Ring => {
      const t = step / ringsBetween;
      const mix = (of: (ring: Ring) => number) => curved(of(before), of(ring), of(next), of(after), t);
      return {
        at: [mix(({ at: [x] }) => x), mix(({ at: [, y] }) => y), mix(({ at: [, , z] }) => z)],
        depth: mix(({ depth }) => depth),
        width: mix(({ width }) => width),
        axes: t < 0.5 ? ring.axes : next.axes,
      };
    });
  });
}

/** Catmull and Rom's spline. */
function curved(before: number, start: number, end: number, after: number, t: number): number {
  return (
    start +
    0.5 *
      t *
      (end -
        before +
        t * (2 * before - 5 * start + 4 * end - after + t * (3 * (start - end) + after - before)))
  );
}

/** The outline of an ellipsoid on the paper: for each normal of the outline, the point that has it. */
function rim({ at, depth, width, axes }: Ring, view: View): Point[] {
  const [centerX, centerY] = projected(at, view);
  const thin = Math.min(depth, width) * 0.8;
  const [ax, ay] = projected(scale(axes.front, depth), view);
  const [bx, by] = projected(scale(axes.right, width), view);
  const [cx, cy] = projected(scale(axes.cranial, thin), view);
  return normals.map(([x, y]): Point => {
    const [a, b, c] = [x * ax + y * ay, x * bx + y * by, x * cx + y * cy];
    const size = Math.hypot(a, b, c);
    return [centerX + (a * ax + b * bx + c * cx) / size, centerY + (a * ay + b * by + c * cy) / size];
  });
}
