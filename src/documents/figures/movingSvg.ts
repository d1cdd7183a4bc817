import type { Panel } from '../../figure/figure.js';
import { type Stroke, strokesOf } from '../../figure/strokes.js';
import { classesOf, svgOnPage } from './svg.js';

/**
 * A figure in its first pose that a script can move: each stroke that does not stay where it is carries its path data
 * at every step of the way, and its classes where they change too. Where all steps have the same commands, a script
 * goes smoothly from one to the next, and every second step is enough.
 *
 * @param way the same strokes at every step
 * @returns null where nothing moves, or a step has other strokes than the first
 */
export function movingSvg(way: readonly Panel[], alternative: string): string | null {
  const [first] = way;
  const steps = way.map(({ shapes }) => shapes.flatMap(strokesOf));
  const [start] = steps;
  if (first === undefined || start === undefined) return null;
  if (steps.some(({ length }) => length !== start.length)) return null;
  const chosen = isSmooth(steps) ? steps.filter((_, index) => index % 2 === 0) : steps;
  return svgOnPage(first, alternative, (_, index) => stepsOfStroke(chosen.map((step) => step[index])));
}

function isSmooth(steps: readonly (readonly Stroke[])[]): boolean {
  // Both ends have to be among every second one.
  return (
    steps.length % 2 === 1 &&
    steps.every((step) => step.every((stroke, index) => isLike(stroke, steps[0]?.[index])))
  );
}

function isLike(stroke: Stroke, other: Stroke | undefined): boolean {
  if (other === undefined || classesOf(stroke) !== classesOf(other)) return false;
  return commandsOf(stroke) === commandsOf(other);
}

/** The commands of path data, with a mark for each number. */
function commandsOf({ d }: Stroke): string {
  return (d.match(/[a-zA-Z]|-?\d+/g) ?? []).map((part) => (/\d/.test(part) ? '0' : part)).join('');
}

function stepsOfStroke(strokes: readonly (Stroke | undefined)[]): string {
  const paths = strokes.map((stroke) => stroke?.d ?? '');
  const classes = strokes.map((stroke) => (stroke === undefined ? '' : classesOf(stroke)));
  const attribute = (name: string, values: readonly string[]) =>
    new Set(values).size > 1 ? ` data-${name}="${values.join(';')}"` : '';
  return attribute('steps', paths) + attribute('classes', classes);
}
