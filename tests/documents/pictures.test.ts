import fc from 'fast-check';
import { XMLParser, XMLValidator } from 'fast-xml-parser';
import { describe, expect, it } from 'vitest';
import { linePicture } from '../../src/documents/pictures/linePicture.js';
import type { LineSpec, StripSpec } from '../../src/documents/pictures/picture.js';
import { strip } from '../../src/documents/pictures/strip.js';
import { type OutcomeKind, outcomeKinds } from '../../src/followup/history.js';
import { boxesOf, overlapping, sizeOf } from './labelBoxes.js';

const dayMs = 86_400_000;
const dayAfter = (day: string, days: number) =>
  new Date(Date.parse(`${day}T00:00:00Z`) + days * dayMs).toISOString().slice(0, 10);

const spec: LineSpec = {
  title: 'Pain & effort',
  description: 'Pain from 0 to 10, <day by day>',
  series: [{ name: 'Pain', values: [] }],
  valueDomain: { from: 0, to: 10 },
  nothing: 'Nothing reported yet.',
  size: 'large',
};

function values(first: string, count: number, value: (index: number) => number) {
  return Array.from({ length: count }, (_, index) => ({ day: dayAfter(first, index), value: value(index) }));
}

/** Round markers in the order in which they stand, also those of many values, which are one shape. */
function circles(svg: string): { x: number; y: number }[] {
  const shapes = svg.match(/<circle class="value"[^>]*>|<path class="values"[^>]*linecap="round"\/>/g) ?? [];
  const places = shapes.flatMap((shape) => [
    ...shape.matchAll(/(?:cx="|M)([-\d.]+)(?:" cy="| )([-\d.]+)(?:"|h0)/g),
  ]);
  return places.map(([, x, y]) => ({ x: Number(x), y: Number(y) }));
}

/** The line of the axes: from the top left, down, to the bottom right. */
function axesOf(svg: string): { left: number; right: number; top: number; bottom: number } {
  const [left, top, bottom, right] =
    /class="axes" d="M([\d.]+) ([\d.]+)V([\d.]+)H([\d.]+)"/.exec(svg)?.slice(1).map(Number) ?? [];
  return {
    left: left ?? Number.NaN,
    right: right ?? Number.NaN,
    top: top ?? Number.NaN,
    bottom: bottom ?? Number.NaN,
  };
}

/** Well-formed by an XML parser that is not ours, and with the texts of its `title` and `desc`. */
function parsed(svg: string): { svg: { title: string; desc: string; '@_role': string } } {
  expect(XMLValidator.validate(svg)).toBe(true);
  return new XMLParser({ ignoreAttributes: false }).parse(svg);
}

const dayOf = fc.integer({ min: 0, max: 730 }).map((days) => dayAfter('2025-01-01', days));
const aName = fc.oneof(fc.string({ unit: 'grapheme', maxLength: 120 }), fc.lorem({ maxCount: 30 }));
const aValue = fc.integer({ min: 0, max: 100 }).map((tenths) => tenths / 10);
const aSeries = fc.record({
  name: aName,
  values: fc.array(fc.record({ day: dayOf, value: aValue }), { maxLength: 60 }),
});
const aSpec: fc.Arbitrary<LineSpec> = fc
  .record({
    series: fc.oneof(fc.tuple(aSeries), fc.tuple(aSeries, aSeries)),
    band: fc.option(fc.record({ from: aValue, to: fc.constant(10), name: aName })),
    references: fc.array(fc.record({ value: fc.integer({ min: -5, max: 15 }), name: aName }), {
      maxLength: 4,
    }),
    marks: fc.array(fc.record({ day: dayOf, name: aName }), { maxLength: 25 }),
    title: aName,
    nothing: aName,
    size: fc.constantFrom('large', 'small'),
    scale: fc.constantFrom(1, 100_000),
  })
  .map(({ band, scale, ...rest }) => ({
    ...spec,
    ...rest,
    valueDomain: { from: 0, to: 10 * scale },
    ...(band === null ? {} : { band }),
  }));

describe('a picture of values over days', () => {
  it('puts every value where the linear formula puts it', () => {
    const scales = fc.tuple(fc.integer({ min: -50, max: 50 }), fc.integer({ min: 1, max: 300 }));
    const days = fc.uniqueArray(fc.integer({ min: 0, max: 729 }), { minLength: 2, maxLength: 140 });
    fc.assert(
      fc.property(
        scales,
        days,
        fc.infiniteStream(fc.double({ min: 0, max: 1, noNaN: true })),
        ([from, height], offsets, shares) => {
          const sorted = offsets.sort((one, other) => one - other);
          const points = sorted.map((offset) => ({
            offset,
            value: from + height * (shares.next().value ?? 0),
          }));
          const svg = linePicture({
            ...spec,
            valueDomain: { from, to: from + height },
            series: [
              {
                name: 'Any',
                values: points.map(({ offset, value }) => ({ day: dayAfter('2025-02-27', offset), value })),
              },
            ],
          });
          const { left, right, top, bottom } = axesOf(svg);
          // The last one belongs to the legend.
          const drawn = circles(svg).slice(0, -1);
          expect(drawn).toHaveLength(points.length);
          const [first = 0, last = 0] = [sorted[0], sorted.at(-1)];
          points.forEach(({ offset, value }, index) => {
            const x = left + ((right - left) * (offset - first)) / (last - first);
            const y = bottom - ((bottom - top) * (value - from)) / height;
            // Coordinates are written with two decimals.
            expect(Math.abs((drawn[index]?.x ?? Number.NaN) - x)).toBeLessThan(0.006);
            expect(Math.abs((drawn[index]?.y ?? Number.NaN) - y)).toBeLessThan(0.006);
          });
        },
      ),
      { numRuns: 100 },
    );
  });

  it('is well-formed, and no label leaves it or meets another, whatever the names are', () => {
    fc.assert(
      fc.property(aSpec, (any) => {
        const svg = linePicture(any);
        expect(parsed(svg).svg['@_role']).toBe('img');
        const boxes = boxesOf(svg);
        const { width, height } = sizeOf(svg);
        for (const { text, left, right, top, bottom } of boxes) {
          expect(left, text).toBeGreaterThanOrEqual(0);
          expect(right, text).toBeLessThanOrEqual(width);
          expect(top, text).toBeGreaterThanOrEqual(0);
          expect(bottom, text).toBeLessThanOrEqual(height);
        }
        expect(overlapping(boxes)).toEqual([]);
        if (any.size === 'small') expect(boxes).toEqual([]);
      }),
      { numRuns: 150 },
    );
  });

  it('says what it shows, and never takes words for markup', () => {
    const svg = linePicture({
      ...spec,
      series: [{ name: '<script>&', values: values('2026-03-01', 3, () => 4) }],
    });
    const read = parsed(svg).svg;
    expect(read.title).toBe('Pain & effort');
    expect(read.desc).toBe('Pain from 0 to 10, <day by day>');
    expect(svg).not.toContain('<script>');
    expect(svg, 'so that two of them can stand on one page').not.toMatch(/ id=/);
    expect(svg, 'a content security policy forbids it').not.toMatch(/ style=|<style/);
  });

  it('says that there is nothing when there is nothing', () => {
    const svg = linePicture({ ...spec, marks: [{ day: '2026-03-01', name: 'Version 2' }] });
    expect(boxesOf(svg).map(({ text }) => text)).toEqual(['Nothing reported yet.']);
    expect(circles(svg)).toEqual([]);
  });

  it('puts one value, or equal ones on a scale without extent, in the middle', () => {
    const one = linePicture({
      ...spec,
      valueDomain: { from: 4, to: 4 },
      series: [{ name: 'Pain', values: values('2026-03-01', 1, () => 4) }],
    });
    const { left, right, top, bottom } = axesOf(one);
    expect(circles(one)[0]).toEqual({ x: (left + right) / 2, y: (top + bottom) / 2 });
    expect(one).not.toContain('class="line"');
    const equal = linePicture({
      ...spec,
      series: [{ name: 'Pain', values: values('2026-03-01', 9, () => 5) }],
    });
    expect(
      new Set(
        circles(equal)
          .slice(0, -1)
          .map(({ y }) => y),
      ),
    ).toEqual(new Set([(top + bottom) / 2]));
  });

  it('draws no line across more than fourteen days without a value', () => {
    const days = (gap: number) => [
      ...values('2026-01-01', 3, () => 2),
      ...values(dayAfter('2026-01-03', gap), 3, () => 5),
    ];
    const lines = (gap: number) =>
      linePicture({ ...spec, series: [{ name: 'Pain', values: days(gap) }] }).match(/class="line"/g);
    expect(lines(14)).toHaveLength(1);
    expect(lines(15)).toHaveLength(2);
  });

  it('keeps what is beyond the scale on its edge and marks it as that', () => {
    const svg = linePicture({
      ...spec,
      series: [{ name: 'Pain', values: values('2026-01-01', 3, (index) => [5, 14, -3][index] ?? 0) }],
    });
    expect(svg.match(/class="value beyond"/g)).toHaveLength(2);
    const { top, bottom } = axesOf(svg);
    const heights = [...svg.matchAll(/translate\([\d.]+ ([\d.]+)\)/g)].map(([, y]) => Number(y));
    expect(heights).toEqual([top, bottom]);
  });

  it('tells two lines apart without color, and names what it shades and marks', () => {
    const svg = linePicture({
      ...spec,
      series: [
        { name: 'Pain', values: values('2026-01-01', 5, () => 3) },
        { name: 'Effort', values: values('2026-01-01', 5, () => 6) },
      ],
      band: { from: 4, to: 6, name: 'Wanted effort' },
      references: [{ value: 7, name: 'Asked to stop' }],
      marks: [
        { day: '2026-01-02', name: 'Version 2' },
        { day: '2026-01-05', name: 'Warning sign' },
      ],
    });
    expect(svg).not.toMatch(/(fill|stroke)="(?!none|currentColor)/);
    const [pain, effort] = [...svg.matchAll(/<path class="line"[^>]*>/g)].map(([path]) => path);
    expect(pain).not.toContain('stroke-dasharray');
    expect(effort).toContain('stroke-dasharray');
    const texts = boxesOf(svg).map(({ text }) => text);
    expect(texts).toEqual(
      expect.arrayContaining([
        'Pain',
        'Effort',
        'Wanted effort',
        'Asked to stop',
        'Jan 2: Version 2',
        'Jan 5: Warning sign',
      ]),
    );
    expect(svg.match(/class="mark"/g)).toHaveLength(2);
  });

  it('draws two years of days', () => {
    const svg = linePicture({
      ...spec,
      series: [{ name: 'Pain', values: values('2024-11-26', 730, (index) => index % 11) }],
    });
    expect(circles(svg)).toHaveLength(731);
    expect(boxesOf(svg).map(({ text }) => text)).toEqual(
      expect.arrayContaining(['Nov 26, 2024', 'Nov 25, 2026']),
    );
  });
});

describe('a strip of outcomes', () => {
  const names: StripSpec['names'] = {
    done: 'Done',
    partly: 'Partly',
    missed: 'Missed',
    excused: 'Nothing wanted',
  };
  const stripSpec: StripSpec = {
    title: 'Sessions',
    description: 'Day by day',
    names,
    nothing: 'No session yet.',
    days: [],
  };

  it('draws every outcome of every day once, and a key to each', () => {
    const days = fc.array(fc.array(fc.constantFrom<OutcomeKind>(...outcomeKinds), { maxLength: 4 }), {
      minLength: 1,
      maxLength: 120,
    });
    fc.assert(
      fc.property(days, (outcomes) => {
        const svg = strip({
          ...stripSpec,
          days: outcomes.map((each, index) => ({ day: dayAfter('2026-01-01', index), outcomes: each })),
        });
        parsed(svg);
        const days = [...svg.matchAll(/class="days" d="([^"]+)"/g)].flatMap(([, path]) => path?.match(/z/g));
        expect(days).toHaveLength(outcomes.length);
        for (const kind of outcomeKinds) {
          const count = outcomes.flat().filter((each) => each === kind).length;
          expect(svg.match(new RegExp(`is-${kind}"`, 'g')), kind).toHaveLength(count + 1);
        }
        const boxes = boxesOf(svg);
        expect(overlapping(boxes)).toEqual([]);
        const { width, height } = sizeOf(svg);
        expect(
          boxes.every(({ left, right, bottom }) => left >= 0 && right <= width && bottom <= height),
        ).toBe(true);
      }),
      { numRuns: 60 },
    );
  });

  it('says that there is nothing when there are no days', () => {
    expect(boxesOf(strip(stripSpec)).map(({ text }) => text)).toEqual(['No session yet.']);
  });
});
