import type { Point } from './shape.js';
import type { Vector } from './vector.js';

/** From which side a body is looked at: from beside the bed, from above, from its foot end. */
export type View = 'side' | 'top' | 'end';

/** Projects a point of the body onto the paper. */
export function projected([x, y, z]: Vector, view: View): Point {
  if (view === 'side') return [x, -y];
  return view === 'top' ? [x, z] : [z, -y];
}

/** Returns how near a point is to the viewer. */
export function nearness([x, y, z]: Vector, view: View): number {
  if (view === 'side') return z;
  return view === 'top' ? y : x;
}
