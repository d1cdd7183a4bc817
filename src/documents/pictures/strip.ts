import { outcomeKinds } from '../../followup/history.js';
import { dayLabel, dayNumber, inSeveralYears } from './days.js';
import { centred, framed, type LegendEntry, legend } from './frame.js';
import { letterSize, letters, lineHeight, rounded } from './letters.js';
import { outcomeShapes } from './markers.js';
import type { StripSpec } from './picture.js';

const daysInRow = 28;
const cellWidth = 18;
const outcomeHeight = 14;
/** Between weeks, so that days can be counted. */
const weekGap = 6;
const left = 90;
const width = left + daysInRow * cellWidth + (daysInRow / 7) * weekGap;

/** Four weeks in a row, each day with its outcomes below one another; see {@link StripSpec}. */
export function strip(spec: StripSpec): string {
  const about = { title: spec.title, description: spec.description, width, kind: 'outcomes' };
  const [first, last] = [spec.days[0], spec.days.at(-1)];
  if (first === undefined || last === undefined) {
    const said = centred(spec.nothing, { top: lineHeight, width });
    return framed(said.drawn, { ...about, height: said.height + 2 * lineHeight });
  }
  const withYear = inSeveralYears(dayNumber(first.day), dayNumber(last.day));
  const drawn: string[] = [];
  let top = 4;
  for (let start = 0; start < spec.days.length; start += daysInRow) {
    const row = spec.days.slice(start, start + daysInRow);
    const height = Math.max(1, ...row.map(({ outcomes }) => outcomes.length)) * outcomeHeight + 8;
    const label = dayLabel(dayNumber(row[0]?.day ?? first.day), { withYear });
    drawn.push(letters(label, { x: left - 10, y: top + letterSize, anchor: 'end' }));
    drawn.push(...row.map((day, index) => dayDrawn(day, { x: xOf(index), top, height })));
    top += height + 4;
  }
  const entries = outcomeKinds.map(
    (kind): LegendEntry => ({ name: spec.names[kind], sample: outcomeShapes[kind] }),
  );
  const names = legend(entries, { top: top + 6, width });
  return framed([...drawn, ...names.drawn], { ...about, height: top + 6 + names.height + 4 });
}

function dayDrawn(
  { outcomes }: StripSpec['days'][number],
  { x, top, height }: { x: number; top: number; height: number },
): string {
  const place = `<rect class="day" x="${rounded(x + 0.5)}" y="${top}" width="${cellWidth - 1}" height="${height}" fill="none" stroke="currentColor" stroke-opacity="0.35"/>`;
  const shapes = outcomes.map((kind, index) =>
    outcomeShapes[kind](x + cellWidth / 2, top + 4 + (index + 0.5) * outcomeHeight),
  );
  return place + shapes.join('');
}

function xOf(index: number): number {
  return left + index * cellWidth + Math.floor(index / 7) * weekGap;
}
