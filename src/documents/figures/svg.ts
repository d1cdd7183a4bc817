import type { Panel } from '../../figure/figure.js';
import { number } from '../../figure/shape.js';
import { type Ink, type Stroke, strokesOf } from '../../figure/strokes.js';
import { escapeMarkup } from '../markup.js';
import { onPaper } from './palette.js';

/** What carries the colors: fixed ones in a file, names for the style sheet of a page. */
type Coloring = (stroke: Stroke) => string;

/** A panel as an SVG 1.1 file of its own, in the colors of paper. */
export function svgFile(panel: Panel, alternative: string): string {
  return svgOf(panel, alternative, 'xmlns="http://www.w3.org/2000/svg"', inColors);
}

/** A panel within a page, whose style sheet gives each ink its color by day, by night and in print. */
export function svgOnPage(panel: Panel, alternative: string): string {
  return svgOf(panel, alternative, 'class="figure"', inClasses);
}

/** The strokes of a panel, for an SVG that holds more than one. */
export function strokesInColors({ shapes, mirror }: Panel): string {
  return mirrored(shapes.flatMap(strokesOf).map(drawnBy(inColors)).join(''), mirror);
}

function svgOf(
  { shapes, frame, mirror }: Panel,
  alternative: string,
  about: string,
  color: Coloring,
): string {
  const box = [frame.left, frame.top, frame.width, frame.height].map(number).join(' ');
  const drawn = shapes.flatMap(strokesOf).map(drawnBy(color)).join('');
  return [
    `<svg ${about} viewBox="${box}" role="img" aria-label="${escapeMarkup(alternative)}" fill="none"`,
    ` stroke-linejoin="round" stroke-linecap="round">${mirrored(drawn, mirror)}</svg>`,
  ].join('');
}

function mirrored(drawn: string, mirror: Panel['mirror']): string {
  if (mirror === null) return drawn;
  return `<g transform="scale(${mirror === 'left-right' ? '-1 1' : '1 -1'})">${drawn}</g>`;
}

function drawnBy(color: Coloring) {
  return (stroke: Stroke): string => {
    const { d, pen } = stroke;
    const width = pen === null ? '' : ` stroke-width="${number(pen.widthCm)}"`;
    const dashes = pen?.isDashed === true ? ' stroke-dasharray="16 16"' : '';
    const under = pen !== null && stroke.fill !== null ? ' paint-order="stroke"' : '';
    return `<path ${color(stroke)}${width}${dashes}${under} d="${d}"/>`;
  };
}

const inColors: Coloring = ({ fill, pen }) =>
  [fill === null ? '' : `fill="${onPaper[fill]}"`, pen === null ? '' : `stroke="${onPaper[pen.ink]}"`]
    .filter((attribute) => attribute !== '')
    .join(' ');

const inClasses: Coloring = ({ fill, pen }) => {
  const names = [fill === null ? '' : fillClass(fill), pen === null ? '' : strokeClass(pen.ink)];
  return `class="${names.filter((name) => name !== '').join(' ')}"`;
};

const fillClass = (ink: Ink): string => `f-${ink}`;
const strokeClass = (ink: Ink): string => `s-${ink}`;
