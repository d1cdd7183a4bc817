/** Draws a program of fourteen exercises again and again, and prints how long one round takes, in milliseconds. */
import { Resvg } from '@resvg/resvg-js';
import { prescribedFigure } from '../../src/documents/figures/exerciseFigure.js';
import { svgFile, svgOnPage } from '../../src/documents/figures/svg.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { median } from './timing.js';

const templates = process.env.STILLCOUNT_TEMPLATES ?? 'audio-templates';
const english = (await readCatalogues(templates)).get('en');
const setUp = { surface: 'bed', headSupport: 'thin-pillow', knees: 'over-pillow' } as const;
const exercises = [...(english?.exercises.values() ?? [])].slice(0, 14);

function drawn(): string[] {
  return exercises.flatMap((exercise) => {
    const figure = prescribedFigure({ exercise, setUp, side: 'left' }, english?.figureWords ?? null);
    return (figure?.poses ?? []).map(({ panel, text }) => svgOnPage(panel, text));
  });
}

/** The same drawings by a renderer that paints them, for comparison. */
function painted(): number {
  return exercises
    .flatMap(
      (exercise) =>
        prescribedFigure({ exercise, setUp, side: 'left' }, english?.figureWords ?? null)?.poses ?? [],
    )
    .map(
      ({ panel, text }) =>
        new Resvg(svgFile(panel, text), { fitTo: { mode: 'width', value: 320 } }).render().width,
    )
    .reduce((sum, width) => sum + width, 0);
}

function medianMs(work: () => unknown, runs: number): number {
  const times = Array.from({ length: runs }, () => {
    const startedAtMs = performance.now();
    work();
    return performance.now() - startedAtMs;
  });
  return median(times.sort((a, b) => a - b));
}

const firstStartedAtMs = performance.now();
const panels = drawn();
const firstMs = performance.now() - firstStartedAtMs;
const [drawnMs, paintedMs] = [medianMs(drawn, 51), medianMs(painted, 11)];
const largestBytes = Math.max(...panels.map((svg) => Buffer.byteLength(svg)));
console.log(JSON.stringify({ panels: panels.length, firstMs, drawnMs, paintedMs, largestBytes }));
