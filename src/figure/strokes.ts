import type { Role, Shape } from './shape.js';

/** A color of a drawing: that of a role, of the paper, or of the outline of light shapes. */
export type Ink = Role | 'paper' | 'edge';

/** One stroke or fill; a drawing paints them in order. */
export type Stroke = {
  /** Path data; see {@link Shape}. */
  d: string;
  fill: Ink | null;
  /** Drawn before the fill, so that the inner half of its width is covered. */
  pen: { ink: Ink; widthCm: number; isDashed: boolean } | null;
};

const haloCm = 1.6;
const edgeCm = 1;
/** Roles too light to be visible on paper without an outline. */
const edged = new Set<Role>(['far', 'hair', 'prop', 'bed']);

/** Returns how to paint a shape: the halo first, then the outline, then the fill. */
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
