import { symbol, symbolCross, symbolTriangle } from 'd3-shape';
import type { OutcomeKind } from '../../followup/history.js';
import { rounded } from './letters.js';

/** Styles that tell the two lines of a picture apart without color. */
export const lineStyles = [
  { dashes: '', marker: disc, dots: discs },
  { dashes: '5 3', marker: box, dots: boxes },
] as const;

/** Dash patterns of level lines, used in turn. */
export const levelDashes = ['9 3', '2 3', '9 3 2 3'] as const;

function disc(x: number, y: number, radius: number): string {
  return `<circle class="value" cx="${rounded(x)}" cy="${rounded(y)}" r="${radius}"/>`;
}

function box(x: number, y: number, radius: number): string {
  const [left, top] = [rounded(x - radius), rounded(y - radius)];
  const side = rounded(2 * radius);
  return `<rect class="value" x="${left}" y="${top}" width="${side}" height="${side}" fill="none" stroke="currentColor"/>`;
}

/** Positions in the units of a picture. */
type Places = readonly (readonly [x: number, y: number])[];

/** Draws hundreds of small discs as one shape; otherwise a page that covers a year would consist mostly of markers. */
function discs(places: Places): string {
  const path = places.map(([x, y]) => `M${rounded(x)} ${rounded(y)}h0`).join('');
  return `<path class="values" d="${path}" stroke="currentColor" stroke-width="3" stroke-linecap="round"/>`;
}

function boxes(places: Places): string {
  const path = places.map(([x, y]) => `M${rounded(x - 1.5)} ${rounded(y - 1.5)}h3v3h-3z`).join('');
  return `<path class="values" d="${path}" fill="none" stroke="currentColor"/>`;
}

/** Draws an arrowhead on the edge for a value beyond it, pointing outward. */
export function drawArrow(x: number, y: number, side: 'above' | 'below'): string {
  const turn = side === 'above' ? '' : ' rotate(180)';
  const path = symbol(symbolTriangle, 40)() ?? '';
  return `<path class="value beyond" d="${path}" transform="translate(${rounded(x)} ${rounded(y)})${turn}"/>`;
}

/** Draws one outcome, about ten units wide, around a center. */
export const outcomeShapes: Readonly<Record<OutcomeKind, (x: number, y: number) => string>> = {
  done: (x, y) => `<circle class="outcome is-done" cx="${rounded(x)}" cy="${rounded(y)}" r="5"/>`,
  partly: (x, y) => {
    const [left, top, bottom] = [rounded(x), rounded(y - 4.5), rounded(y + 4.5)];
    return (
      `<g class="outcome is-partly"><circle cx="${left}" cy="${rounded(y)}" r="4.5" fill="none" stroke="currentColor"/>` +
      `<path d="M${left} ${top}A4.5 4.5 0 0 0 ${left} ${bottom}Z"/></g>`
    );
  },
  missed: (x, y) =>
    `<path class="outcome is-missed" d="${symbol(symbolCross, 34)() ?? ''}" transform="translate(${rounded(x)} ${rounded(y)}) rotate(45)"/>`,
  excused: (x, y) =>
    `<rect class="outcome is-excused" x="${rounded(x - 5)}" y="${rounded(y - 1)}" width="10" height="2"/>`,
};
