import type { Role, Shape } from './shape.js';

/** What is painted in one color: a part of a figure, the paper around it, or the edge of something light. */
export type Ink = Role | 'paper' | 'edge';

/** One stroke of the pen or the brush, in the order in which they are laid on. */
export type Stroke = {
  /** Path data; see {@link Shape}. */
  d: string;
  fill: Ink | null;
  /** Drawn before the fill, so that the inner half of its width is covered. */
  pen: { ink: Ink; widthCm: number; isDashed: boolean } | null;
};

const haloCm = 1.6;
const edgeCm = 1;
/** What is too light to be seen on paper without an edge. */
const edged = new Set<Role>(['far', 'hair', 'prop', 'bed']);

/** How a shape is painted: its halo first, then its edge, then itself. */
export function strokesOf({ role, d, lineCm, hasHalo = false, isDashed = false }: Shape): Stroke[] {
  const penned = (ink: Ink, widthCm: number, fill: Ink | null = null): Stroke => ({
    d,
    fill,
    pen: { ink, widthCm, isDashed },
  });
  if (lineCm !== undefined) {
    const line = penned(role, lineCm);
    return hasHalo
      ? [{ d, fill: null, pen: { ink: 'paper', widthCm: lineCm + 1.4, isDashed: false } }, line]
      : [line];
  }
  if (edged.has(role)) {
    const body = penned('edge', edgeCm, role);
    return hasHalo ? [penned('paper', haloCm + edgeCm), body] : [body];
  }
  return [hasHalo ? penned('paper', haloCm, role) : { d, fill: role, pen: null }];
}
