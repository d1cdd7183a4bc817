import { type ScaleLinear, scaleLinear } from 'd3-scale';
import { line } from 'd3-shape';
import { dayLabel, dayNumber, inSeveralYears } from './days.js';
import { centred, drawFrame, drawLegend, type LegendEntry } from './frame.js';
import { drawText, letterSize, lineHeight, rounded, textWidth } from './letters.js';
import { drawArrow, levelDashes, lineStyles } from './markers.js';
import { groupedMarks, type MarkGroup } from './marks.js';
import type { LineSpec } from './picture.js';

/**
 * A longer time without a value leaves a gap in the line, because the values between are unknown, unless values are
 * expected to be rare.
 */
const usualBridgedDays = 14;

type Place = { left: number; right: number; top: number; bottom: number; width: number };

const large: Place = { left: 52, right: 600, top: 28, bottom: 190, width: 640 };
const small: Place = { left: 5, right: 315, top: 5, bottom: 85, width: 320 };

type Point = { day: number; value: number };
type Scales = { x: ScaleLinear<number, number>; y: ScaleLinear<number, number> };

/** Draws one or two lines over days, with their reference lines; see {@link LineSpec}. */
export function linePicture(spec: LineSpec): string {
  const place = placeOf(spec);
  const series = spec.series.map(({ values }) => pointsOf(values));
  const days = shownDays(spec, series);
  const about = {
    title: spec.title,
    description: spec.description,
    width: place.width,
    kind: `line-${spec.size}`,
  };
  if (days === null) return nothingDrawn(spec, place, about);

  const scales = {
    x: scaleLinear(widened(days), [place.left, place.right]),
    y: scaleLinear(widened(spec.valueDomain), [place.bottom, place.top]),
  };
  const groups = groupedMarks(spec.marks ?? [], days, scales.x);
  const plot = [
    ...bandDrawn(spec, scales, place),
    ...levelsDrawn(spec, scales, place),
    ...groups.flatMap(({ marks }) => marks.map(({ x }) => upright(x, place))),
    ...series.flatMap((points, index) =>
      seriesDrawn(points, scales, {
        index,
        bridgedDays: spec.bridgedDays ?? usualBridgedDays,
        isSmall: spec.size === 'small',
      }),
    ),
  ];
  if (spec.size === 'small') return drawFrame(plot, { ...about, height: place.bottom + 5 });
  const names = drawLegend(legendOf(spec, groups, scales), { top: place.bottom + 32, width: place.width });
  const drawn = [...axes(scales, place, days), ...groups.map(markLetters), ...plot, ...names.drawn];
  return drawFrame(drawn, { ...about, height: place.bottom + 32 + names.height + 4 });
}

/** Returns the plot area; the numbers of the scale need room on the left, however long they are. */
function placeOf({ size, valueDomain }: LineSpec): Place {
  if (size === 'small') return small;
  const scale = scaleLinear(widened(valueDomain), [0, 1]);
  const widest = Math.max(...tickLabels(scale).map(({ label }) => textWidth(label)));
  return { ...large, left: Math.max(large.left, Math.ceil(widest) + 12) };
}

function tickLabels(y: ScaleLinear<number, number>): { value: number; label: string }[] {
  const format = y.tickFormat(5);
  return y.ticks(5).map((value) => ({ value, label: format(value) }));
}

function pointsOf(values: LineSpec['series'][0]['values']): Point[] {
  return values
    .map(({ day, value }) => ({ day: dayNumber(day), value }))
    .sort((one, other) => one.day - other.day);
}

/** Returns the days of the scale; null when there is nothing to draw. */
function shownDays(
  { dayDomain, marks = [] }: LineSpec,
  series: readonly (readonly Point[])[],
): { from: number; to: number } | null {
  const values = series.flatMap((points) => points.map(({ day }) => day));
  if (values.length === 0) return null;
  if (dayDomain !== undefined) return { from: dayNumber(dayDomain.from), to: dayNumber(dayDomain.to) };
  const all = [...values, ...marks.map(({ day }) => dayNumber(day))];
  return { from: Math.min(...all), to: Math.max(...all) };
}

/** Widens a range of a single day or value, which then is in the middle, because a scale needs two ends. */
function widened({ from, to }: { from: number; to: number }): [number, number] {
  return from === to ? [from - 1, to + 1] : [from, to];
}

function nothingDrawn(
  spec: LineSpec,
  place: Place,
  about: { title: string; description: string; width: number; kind: string },
): string {
  const middle = (place.top + place.bottom) / 2;
  if (spec.size === 'small') {
    return drawFrame([level(middle, place, levelDashes[1])], { ...about, height: place.bottom + 5 });
  }
  const notice = centred(spec.nothing, { top: lineHeight, width: place.width });
  return drawFrame(notice.drawn, { ...about, height: notice.height + 2 * lineHeight });
}

function bandDrawn({ band }: LineSpec, { y }: Scales, place: Place): string[] {
  if (band === undefined || !meets(y, band.from, band.to)) return [];
  const [top, bottom] = [inside(band.to, y), inside(band.from, y)].map((value) => y(value)) as [
    number,
    number,
  ];
  const box = `x="${place.left}" y="${rounded(top)}" width="${place.right - place.left}" height="${rounded(bottom - top)}"`;
  return [`<rect class="band" ${box} fill-opacity="0.13"/>`];
}

function levelsDrawn({ references = [] }: LineSpec, { y }: Scales, place: Place): string[] {
  return references.flatMap(({ value }, index) =>
    meets(y, value, value) ? [level(y(value), place, dashesOf(index))] : [],
  );
}

function level(y: number, { left, right }: { left: number; right: number }, dashes: string): string {
  return `<path class="level" d="M${rounded(left)} ${rounded(y)}H${rounded(right)}" stroke="currentColor" stroke-dasharray="${dashes}"/>`;
}

function upright(x: number, { top, bottom }: Place): string {
  return `<path class="mark" d="M${rounded(x)} ${rounded(top)}V${rounded(bottom)}" stroke="currentColor" stroke-dasharray="1 3"/>`;
}

function markLetters({ x, label }: MarkGroup): string {
  return drawText(label, { x, y: large.top - 10, anchor: 'middle' });
}

function seriesDrawn(
  points: readonly Point[],
  { x, y }: Scales,
  { index, bridgedDays, isSmall }: { index: number; bridgedDays: number; isSmall: boolean },
): string[] {
  const { dashes, marker, dots } = lineStyles[index === 0 ? 0 : 1];
  const [firstDay, lastDay] = x.domain() as [number, number];
  const shown = points.filter(({ day }) => day >= firstDay && day <= lastDay);
  const path = line<Point>(
    ({ day }) => rounded(x(day)),
    ({ value }) => rounded(y(inside(value, y))),
  );
  const dashing = dashes === '' ? '' : ` stroke-dasharray="${dashes}"`;
  const lines = bridged(shown, bridgedDays)
    .filter((part) => part.length > 1)
    .map(
      (part) =>
        `<path class="line" d="${path(part) ?? ''}" fill="none" stroke="currentColor" stroke-width="1.5"${dashing}/>`,
    );
  const arrows = shown.flatMap(({ day, value }) => {
    const within = inside(value, y);
    return within === value ? [] : [drawArrow(x(day), y(within), value > within ? 'above' : 'below')];
  });
  const places = shown
    .filter(({ value }) => inside(value, y) === value)
    .map(({ day, value }) => [x(day), y(value)] as const);
  // Hundreds of full-sized markers would hide the line.
  const isDense = shown.length > 90;
  const markers = isDense ? [dots(places)] : places.map(([at, up]) => marker(at, up, isSmall ? 1.5 : 3));
  return [...lines, ...markers, ...arrows];
}

/** Splits points into runs without a gap longer than allowed. */
function bridged(points: readonly Point[], days: number): Point[][] {
  const parts: Point[][] = [];
  for (const point of points) {
    const part = parts.at(-1);
    const before = part?.at(-1);
    if (part === undefined || before === undefined || point.day - before.day > days) parts.push([point]);
    else part.push(point);
  }
  return parts;
}

function axes({ x, y }: Scales, place: Place, days: { from: number; to: number }): string[] {
  const values = tickLabels(y).map(({ value, label }) => {
    const at = y(value);
    const stroke = `<path d="M${place.left - 4} ${rounded(at)}H${place.left}" stroke="currentColor"/>`;
    return stroke + drawText(label, { x: place.left - 8, y: at + letterSize / 3, anchor: 'end' });
  });
  const withYear = inSeveralYears(days.from, days.to);
  const room = textWidth(dayLabel(days.to, { withYear: true })) + 12;
  const steps = Math.max(1, Math.min(days.to - days.from, Math.floor((place.right - place.left) / room)));
  const shown = Array.from({ length: steps + 1 }, (_, step) =>
    Math.round(days.from + ((days.to - days.from) * step) / steps),
  );
  const dates = [...new Set(shown)].map((day) => {
    const stroke = `<path d="M${rounded(x(day))} ${place.bottom}v4" stroke="currentColor"/>`;
    return (
      stroke +
      drawText(dayLabel(day, { withYear }), { x: x(day), y: place.bottom + 6 + letterSize, anchor: 'middle' })
    );
  });
  const frame = `<path class="axes" d="M${place.left} ${place.top}V${place.bottom}H${place.right}" fill="none" stroke="currentColor"/>`;
  return [frame, ...values, ...dates];
}

function legendOf(spec: LineSpec, groups: readonly MarkGroup[], { y }: Scales): LegendEntry[] {
  const lines = spec.series.map(({ name }, index): LegendEntry => {
    const { dashes, marker } = lineStyles[index === 0 ? 0 : 1];
    const sample = (x: number, at: number) =>
      level(at, { left: x - 14, right: x + 14 }, dashes === '' ? 'none' : dashes) + marker(x, at, 3);
    return { name, sample };
  });
  const { band, references = [] } = spec;
  const bands: LegendEntry[] =
    band === undefined || !meets(y, band.from, band.to)
      ? []
      : [
          {
            name: band.name,
            sample: (x, at) =>
              `<rect x="${rounded(x - 14)}" y="${rounded(at - 6)}" width="28" height="12" fill-opacity="0.13" stroke="currentColor"/>`,
          },
        ];
  const levels = references.flatMap(({ value, name }, index): LegendEntry[] =>
    meets(y, value, value)
      ? [{ name, sample: (x, at) => level(at, { left: x - 14, right: x + 14 }, dashesOf(index)) }]
      : [],
  );
  const marks = groups.flatMap(({ marks }) =>
    marks.map(
      ({ label, name }): LegendEntry => ({
        name,
        sample: (x, at) => drawText(label, { x, y: at + letterSize / 3, anchor: 'middle' }),
      }),
    ),
  );
  return [...lines, ...bands, ...levels, ...marks];
}

function dashesOf(index: number): string {
  return levelDashes[index % levelDashes.length] ?? levelDashes[0];
}

function meets(y: ScaleLinear<number, number>, from: number, to: number): boolean {
  const [least, most] = y.domain() as [number, number];
  return to >= least && from <= most;
}

function inside(value: number, y: ScaleLinear<number, number>): number {
  const [least, most] = y.domain() as [number, number];
  return Math.min(most, Math.max(least, value));
}
