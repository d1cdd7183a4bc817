/** A point or a direction in space, in centimeters: x from the head of the bed to its foot, y up, z to the near side. */
export type Vector = readonly [x: number, y: number, z: number];

export const add = (a: Vector, b: Vector): Vector => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const subtract = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const scale = (a: Vector, factor: number): Vector => [a[0] * factor, a[1] * factor, a[2] * factor];
export const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const length = (a: Vector): number => Math.hypot(...a);
export const distance = (a: Vector, b: Vector): number => length(subtract(a, b));
export const middle = (a: Vector, b: Vector): Vector => scale(add(a, b), 0.5);

export const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

/** Returns the unit vector of a direction; a zero vector is returned unchanged. */
export function unit(a: Vector): Vector {
  const size = length(a);
  return size === 0 ? a : scale(a, 1 / size);
}

/** Returns a point plus a sum of scaled directions. */
export function from(
  origin: Vector,
  ...steps: readonly (readonly [direction: Vector, by: number])[]
): Vector {
  return steps.reduce((at, [direction, by]) => add(at, scale(direction, by)), origin);
}

/** Turns a vector about an axis through the origin, counterclockwise as seen from the tip of the axis. */
export function turn(a: Vector, axis: Vector, degrees: number): Vector {
  const about = unit(axis);
  const [cos, sin] = [Math.cos(radians(degrees)), Math.sin(radians(degrees))];
  return from(scale(a, cos), [cross(about, a), sin], [about, dot(about, a) * (1 - cos)]);
}

/** Returns the component of a vector perpendicular to a direction. */
export function across(a: Vector, direction: Vector): Vector {
  return subtract(a, scale(direction, dot(a, direction)));
}

/** The angle between two vectors, in degrees. */
export function angleBetween(a: Vector, b: Vector): number {
  return degreesOf(Math.acos(Math.min(1, Math.max(-1, dot(unit(a), unit(b))))));
}

export const radians = (degrees: number): number => (degrees * Math.PI) / 180;
export const degreesOf = (angle: number): number => (angle * 180) / Math.PI;
