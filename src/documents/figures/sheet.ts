import { escapeMarkup } from '../markup.js';
import type { ExerciseFigure } from './exerciseFigure.js';
import { onPaper } from './palette.js';
import { strokesInColors } from './svg.js';

/** A figure with the name that stands above it; null for none. */
export type NamedFigure = { name: string | null; figure: ExerciseFigure };

/** Pixels for each centimeter of the body, at the size that the sheet states. */
const pixelsForCm = 1.6;
const gap = 10;
const nameHeight = 26;
const sheetWidth = 1600;

/** Font family of the names; the renderer must provide it. */
export const sheetFont = 'Atkinson Hyperlegible';

type Placed = NamedFigure & { x: number; y: number; width: number; height: number };

/**
 * Figures beside and under each other, each with all of its poses from left to right: an SVG 1.1 file in the colors of
 * paper. One figure alone is a sheet as wide as itself.
 */
export function figureSheet(figures: readonly NamedFigure[]): string {
  const placed = inRows(figures.map((each) => ({ ...each, ...sizeOf(each) })));
  const width = Math.max(...placed.map((each) => each.x + each.width)) + gap;
  const height = Math.max(...placed.map((each) => each.y + each.height)) + gap;
  const told = figures.flatMap(({ figure }) => figure.poses.map(({ text }) => text)).join(' ');
  const label = figures.length === 1 ? ` role="img" aria-label="${escapeMarkup(told)}"` : '';
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}"${label}`,
    ' fill="none" stroke-linejoin="round" stroke-linecap="round">',
    `<rect width="${width}" height="${height}" fill="${onPaper.paper}"/>`,
    ...placed.map(drawn),
    '</svg>',
  ].join('');
}

function sizeOf({ name, figure }: NamedFigure): { width: number; height: number } {
  const frames = figure.poses.map(({ panel }) => panel.frame);
  const width = frames.reduce((sum, frame) => sum + frame.width * pixelsForCm, 0) + gap * (frames.length - 1);
  const tallest = Math.max(...frames.map(({ height }) => height)) * pixelsForCm;
  return { width: Math.ceil(width), height: Math.ceil(tallest) + (name === null ? 0 : nameHeight) };
}

/** Places figures left to right in rows, aligned at the bottom. */
function inRows(sized: readonly (NamedFigure & { width: number; height: number })[]): Placed[] {
  const rows: Placed[][] = [];
  let x = gap;
  for (const each of sized) {
    if (rows.length === 0 || x + each.width > sheetWidth) {
      rows.push([]);
      x = gap;
    }
    rows.at(-1)?.push({ ...each, x, y: 0 });
    x += each.width + 3 * gap;
  }
  let y = gap;
  return rows.flatMap((row) => {
    const height = Math.max(...row.map((each) => each.height));
    const placed = row.map((each) => ({ ...each, y: y + height - each.height }));
    y += height + 2 * gap;
    return placed;
  });
}

function drawn({ name, figure, x, y, height }: Placed): string {
  const title =
    name === null
      ? ''
      : `<text x="${x}" y="${y + 18}" font-family="${sheetFont}" font-size="18" fill="#1c2530">${escapeMarkup(name)}</text>`;
  let left = x;
  const poses = figure.poses.map(({ panel }) => {
    const { frame } = panel;
    // Path data is in millimeters of the body.
    const scale = pixelsForCm / 10;
    const [toX, toY] = [
      left - frame.left * pixelsForCm,
      y + height - (frame.top + frame.height) * pixelsForCm,
    ];
    left += frame.width * pixelsForCm + gap;
    return `<g transform="translate(${rounded(toX)} ${rounded(toY)}) scale(${scale})">${strokesInColors(panel)}</g>`;
  });
  return `${title}${poses.join('')}`;
}

const rounded = (pixels: number): number => Math.round(pixels * 10) / 10;
