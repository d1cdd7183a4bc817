import { outcomeKinds } from '../../followup/history.js';
import { dayLabel, dayNumber, inSeveralYears } from './days.js';
import { centred, drawFrame, drawLegend, type LegendEntry } from './frame.js';
import { drawText, letterSize, lineHeight, rounded } from './letters.js';
import { outcomeShapes } from './markers.js';
import type { StripSpec } from './picture.js';

const daysInRow = 28;
const cellWidth = 18;
const outcomeHeight = 14;
/** Gap between weeks, so that days can be counted. */
const weekGap = 6;
const left = 90;
const width = left + daysInRow * cellWidth + (daysInRow / 7) * weekGap;

/** Draws four weeks in a row, with each day's outcomes stacked; see {@link StripSpec}. */
export function strip(spec: StripSpec): string {
  const about = { title: spec.title, description: spec.description, width, kind: 'outcomes' };
  const [first, last] = [spec.days[0], spec.days.at(-1)];
  if (first === undefined || last === undefined) {
    const notice = centred(spec.nothing, { top: lineHeight, width });
    return drawFrame(notice.drawn, { ...about, height: notice.height + 2 * lineHeight });
  }
  const withYear = inSeveralYears(dayNumber(first.day), dayNumber(last.day));
  const drawn: string[] = [];
  let top = 4;
  for (let start = 0; start < spec.days.length; start += daysInRow) {
    const row = spec.days.slice(start, start + daysInRow);
    const height = Math.max(1, ...row.map(({ outcomes }) => outcomes.length)) * outcomeHeight + 8;
    const label = dayLabel(dayNumber(row[0]?.day ?? first.day), { withYear });
    drawn.push(drawText(label, { x: left - 10, y: top + letterSize, anchor: 'end' }));
    const places = row.map(
      (_, index) => `M${rounded(xOf(index) + 0.5)} ${top}h${cellWidth - 1}v${height}h${1 - cellWidth}z`,
    );
    drawn.push(
      `<path class="days" d="${places.join('')}" fill="none" stroke="currentColor" stroke-opacity="0.35"/>`,
      ...row.flatMap(({ outcomes }, index) => outcomesDrawn(outcomes, { x: xOf(index), top })),
    );
    top += height + 4;
  }
  const entries = outcomeKinds.map(
    (kind): LegendEntry => ({ name: spec.names[kind], sample: outcomeShapes[kind] }),
  );
  const names = drawLegend(entries, { top: top + 6, width });
  return drawFrame([...drawn, ...names.drawn], { ...about, height: top + 6 + names.height + 4 });
}

function outcomesDrawn(
  outcomes: StripSpec['days'][number]['outcomes'],
  { x, top }: { x: number; top: number },
): string[] {
  return outcomes.map((kind, index) =>
    outcomeShapes[kind](x + cellWidth / 2, top + 4 + (index + 0.5) * outcomeHeight),
  );
}

function xOf(index: number): number {
  return left + index * cellWidth + Math.floor(index / 7) * weekGap;
}
