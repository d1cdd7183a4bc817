import { cm, girths } from './body.js';

import { number, type Point, type Shape } from './shape.js';
import type { Axes } from './trunk.js';
import { add, scale, type Vector } from './vector.js';
import { nearness, projected, type View } from './view.js';

/** A place on the head: toward the crown, and toward the face or a side, in halves of its depth. */
type Spot = readonly [up: number, across: number];
/** A path over the head: where it starts, then curves through two handles each, or straight lines. */
type Outline = readonly [Spot, ...(readonly Spot[])[]];

/** The profile, from the nape over the crown and down the face to the throat: calm, with a chin that shows where it points. */
const profile: Outline = [
  [-0.8, -0.3],
  [
    [-0.55, -0.8],
    [-0.1, -1.0],
    [0.3, -1.0],
  ],
  [
    [0.8, -1.0],
    [1.14, -0.55],
    [1.14, -0.02],
  ],
  [
    [1.14, 0.5],
    [0.84, 0.86],
    [0.42, 0.93],
  ],
  [
    [0.3, 0.95],
    [0.2, 0.93],
    [0.1, 0.93],
  ],
  [
    [0.02, 0.98],
    [-0.16, 1.16],
    [-0.24, 1.19],
  ],
  [
    [-0.32, 1.2],
    [-0.34, 1.08],
    [-0.36, 0.98],
  ],
  [
    [-0.44, 1.02],
    [-0.52, 1.03],
    [-0.56, 0.96],
  ],
  [
    [-0.62, 1.0],
    [-0.68, 0.99],
    [-0.7, 0.9],
  ],
  [
    [-0.78, 0.94],
    [-0.98, 0.95],
    [-1.03, 0.78],
  ],
  [
    [-1.04, 0.62],
    [-0.92, 0.45],
    [-0.8, 0.2],
  ],
  [
    [-0.78, 0.05],
    [-0.78, -0.15],
    [-0.8, -0.3],
  ],
];
const profileHair: Outline = [
  [0.46, 0.92],
  [
    [0.9, 0.85],
    [1.22, 0.5],
    [1.22, -0.04],
  ],
  [
    [1.22, -0.62],
    [0.82, -1.1],
    [0.28, -1.1],
  ],
  [
    [-0.16, -1.1],
    [-0.5, -1.0],
    [-0.6, -0.76],
  ],
  [
    [-0.5, -0.5],
    [-0.34, -0.32],
    [-0.22, -0.2],
  ],
  [
    [0.02, -0.12],
    [0.24, 0.1],
    [0.3, 0.36],
  ],
  [
    [0.36, 0.6],
    [0.42, 0.76],
    [0.46, 0.92],
  ],
];

/** A face from the front, which is only a shape: nothing in it but where the nose points. */
const face: Outline = [
  [-1.08, 0],
  [
    [-1.08, 0.34],
    [-0.7, 0.72],
    [0, 0.78],
  ],
  [
    [0.7, 0.8],
    [1.14, 0.5],
    [1.14, 0],
  ],
  [
    [1.14, -0.5],
    [0.7, -0.8],
    [0, -0.78],
  ],
  [
    [-0.7, -0.72],
    [-1.08, -0.34],
    [-1.08, 0],
  ],
];
const faceHair: Outline = [
  [-0.1, 0.82],
  [
    [0.75, 0.98],
    [1.24, 0.6],
    [1.24, 0],
  ],
  [
    [1.24, -0.6],
    [0.75, -0.98],
    [-0.1, -0.82],
  ],
  [
    [0.3, -0.66],
    [0.62, -0.4],
    [0.62, 0],
  ],
  [
    [0.62, 0.4],
    [0.3, 0.66],
    [-0.1, 0.82],
  ],
];

/** The head as it is seen: in profile from its side, as a plain face from the front, as hair from the crown or behind. */
export function headShapes(at: Vector, { cranial, front, right }: Axes, view: View): Shape[] {
  const half = cm(girths.head.depth);
  const sideways = Math.abs(nearness(right, view));
  const along = Math.abs(nearness(cranial, view));
  const on = (second: Vector) => (outline: Outline) => pathOf(outline, at, cranial, second, half, view);
  if (along > 0.75) return roundHead(at, { cranial, front, right }, view);
  if (sideways > 0.6) {
    const path = on(front);
    return [
      { role: 'skin', d: path(profile) },
      { role: 'hair', d: path(profileHair) },
    ];
  }
  const path = on(right);
  const isFace = nearness(front, view) > 0;
  const shapes: Shape[] = [{ role: 'skin', d: path(face) }];
  if (!isFace) return [...shapes, { role: 'hair', d: path([...face]) }];
  const nose = add(at, add(scale(front, half), scale(cranial, -half * 0.1)));
  return [
    ...shapes,
    { role: 'hair', d: path(faceHair) },
    { role: 'far', d: nosePath(nose, cranial, half, view) },
  ];
}

function nosePath(nose: Vector, cranial: Vector, half: number, view: View): string {
  const bridge = projected(add(nose, scale(cranial, half * 0.3)), view);
  const tip = projected(add(nose, scale(cranial, -half * 0.12)), view);
  return `M${place(bridge)}L${place(tip)}`;
}

function roundHead(at: Vector, { front }: Axes, view: View): Shape[] {
  const [x, y] = projected(at, view);
  const half = cm(girths.head.depth);
  const [fx, fy] = projected(front, view);
  const r = number(half * 0.95);
  const disc = (cx: number, cy: number) =>
    `M${number(cx - half * 0.95)} ${number(cy)}a${r} ${r} 0 1 0 ${number(half * 1.9)} 0a${r} ${r} 0 1 0 ${number(-half * 1.9)} 0Z`;
  return [
    { role: 'hair', d: disc(x - fx * half * 0.12, y - fy * half * 0.12), hasHalo: true },
    { role: 'skin', d: disc(x, y) },
  ];
}

function pathOf(
  [start, ...curves]: Outline,
  at: Vector,
  cranial: Vector,
  second: Vector,
  half: number,
  view: View,
): string {
  const spot = ([up, across]: Spot) =>
    place(projected(add(at, add(scale(cranial, up * half), scale(second, across * half))), view));
  return `M${spot(start)}${curves.map((curve) => `C${curve.map(spot).join(' ')}`).join('')}Z`;
}

const place = ([x, y]: Point): string => `${number(x)} ${number(y)}`;
