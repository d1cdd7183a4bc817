/** A point on the paper, in centimeters of the body: x to the right, y down. */
export type Point = readonly [x: number, y: number];

/** The role of a shape, which determines its color: near parts are dark, far parts light, props muted. */
export type Role =
  | 'near'
  | 'far'
  | 'trunk'
  | 'skin'
  | 'hair'
  | 'bed'
  | 'prop'
  | 'floor'
  /** A strap, a band or a stick in the hands. */
  | 'held'
  | 'movement'
  | 'force'
  | 'watch';

/** One piece of a drawing. `d` is path data of SVG 1.1, section 8.3, in millimeters of the body. */
export type Shape = {
  role: Role;
  d: string;
  /** Drawn as a line of that width, in centimeters, in place of a filled area. */
  lineCm?: number;
  /** A gap of the paper's color around it, so that what is in front stands out. */
  hasHalo?: boolean;
  isDashed?: boolean;
};

/** Path data is in whole millimeters of the body: at 6 cm wide in print, a fortieth of a millimeter. */
export const number = (cm: number): string => String(Math.round(cm * 10) || 0);

const place = ([x, y]: Point): string => pair(Math.round(x * 10) || 0, Math.round(y * 10) || 0);

export function line(start: Point, end: Point): string {
  return `M${place(start)}L${place(end)}`;
}

/** Uses relative coordinates, which are shorter than absolute ones. */
export function polygon(points: readonly Point[]): string {
  const [first, ...others] = points.map(([x, y]) => [Math.round(x * 10), Math.round(y * 10)] as const);
  if (first === undefined) return '';
  let [x, y] = first;
  const steps = others.map(([nextX, nextY]) => {
    const step = pair(nextX - x, nextY - y);
    [x, y] = [nextX, nextY];
    return step;
  });
  return `M${pair(...first)}l${steps.join(' ')}Z`;
}

/** Joins two numbers; a minus sign separates them without a space. */
function pair(x: number, y: number): string {
  return y < 0 ? `${x}${y}` : `${x} ${y}`;
}

export function circle([x, y]: Point, radius: number): string {
  const r = number(radius);
  return `M${place([x - radius, y])}a${r} ${r} 0 1 0 ${number(2 * radius)} 0a${r} ${r} 0 1 0 ${number(-2 * radius)} 0Z`;
}

export function box(left: number, top: number, width: number, height: number, rounding = 0): string {
  const r = Math.min(rounding, width / 2, height / 2);
  const arc = (dx: number, dy: number) => `a${number(r)} ${number(r)} 0 0 1 ${number(dx)} ${number(dy)}`;
  return [
    `M${place([left + r, top])}h${number(width - 2 * r)}${arc(r, r)}v${number(height - 2 * r)}${arc(-r, r)}`,
    `h${number(2 * r - width)}${arc(-r, -r)}v${number(2 * r - height)}${arc(r, -r)}Z`,
  ].join('');
}

/** A smooth line through points: Catmull and Rom's spline, as cubic curves. */
export function smooth(points: readonly Point[], isClosed = false): string {
  const at = (index: number): Point => {
    const count = points.length;
    const bounded = isClosed ? (index + count) % count : Math.min(count - 1, Math.max(0, index));
    return points[bounded] ?? [0, 0];
  };
  const curves = Array.from({ length: isClosed ? points.length : points.length - 1 }, (_, index) => {
    const [before, start, end, after] = [at(index - 1), at(index), at(index + 1), at(index + 2)];
    const first: Point = [start[0] + (end[0] - before[0]) / 6, start[1] + (end[1] - before[1]) / 6];
    const second: Point = [end[0] - (after[0] - start[0]) / 6, end[1] - (after[1] - start[1]) / 6];
    return `C${place(first)} ${place(second)} ${place(end)}`;
  });
  return `M${place(at(0))}${curves.join('')}${isClosed ? 'Z' : ''}`;
}

/** The outline around two circles: a limb between two joints. */
export function taper(a: Point, aRadius: number, b: Point, bRadius: number): string {
  const apart = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (apart <= Math.abs(aRadius - bRadius))
    return aRadius > bRadius ? circle(a, aRadius) : circle(b, bRadius);
  const along = Math.atan2(b[1] - a[1], b[0] - a[0]);
  const opening = Math.acos((aRadius - bRadius) / apart);
  const rim = (center: Point, radius: number, angle: number): Point => [
    center[0] + radius * Math.cos(angle),
    center[1] + radius * Math.sin(angle),
  ];
  const isWide = opening < Math.PI / 2;
  const arc = (radius: number, isLarge: boolean, end: Point) =>
    `A${number(radius)} ${number(radius)} 0 ${isLarge ? 1 : 0} 1 ${place(end)}`;
  return [
    `M${place(rim(a, aRadius, along + opening))}`,
    arc(aRadius, isWide, rim(a, aRadius, along - opening)),
    `L${place(rim(b, bRadius, along - opening))}`,
    arc(bRadius, !isWide, rim(b, bRadius, along + opening)),
    'Z',
  ].join('');
}

/** The convex outline around points: Andrew's monotone chain. */
export function hull(points: readonly Point[]): Point[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (ordered: readonly Point[]): Point[] => {
    const chain: Point[] = [];
    for (const point of ordered) {
      while (chain.length > 1 && turnsRight(chain.at(-2), chain.at(-1), point)) chain.pop();
      chain.push(point);
    }
    return chain.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

function turnsRight(a: Point | undefined, b: Point | undefined, c: Point): boolean {
  if (a === undefined || b === undefined) return false;
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) <= 0;
}
