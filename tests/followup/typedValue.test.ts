import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { judgeEntry } from '../../src/followup/measureEntry.js';
import type { Measure } from '../../src/followup/measures.js';
import { measureOfOwn } from '../../src/followup/ownMeasures.js';
import { readTyped, type TypedScale } from '../../src/followup/typedValue.js';
import { numberText, valueText } from '../../src/followup/units.js';
import { readMeasures } from '../../src/session/readClinicWords.js';

const catalogue = await readMeasures('audio-templates');
const measureOf = (id: string): Measure =>
  catalogue.measures.find((measure) => measure.id === id) ?? expect.unreachable(id);
const height = measureOf('height');
const wall = measureOf('occiput-to-wall');
const upAndGo = measureOf('timed-up-and-go');
const stands = measureOf('chair-stand-30s');
const pain = measureOf('pain');

/** The one value that was read, or what came of it. */
const read = (typed: string, scale: TypedScale) => {
  const found = readTyped(typed, scale);
  if (found.kind === 'one') return found.value;
  return found.kind === 'none' ? found.why : found.readings.map(({ text }) => text);
};

describe('a value as it is typed', () => {
  // The inch is 2.54 cm and the foot 12 inches exactly: international yard and pound agreement of 1959.
  it.each([
    ['5 cm', wall, 5],
    ['5,5', wall, 5.5],
    ['5.5', wall, 5.5],
    ['  5.5cm. ', wall, 5.5],
    ['55 mm', wall, 5.5],
    ['2 in', wall, 5.08],
    [',5', wall, 0.5],
    ['0.125 in', wall, 0.3175],
    ['165', height, 165],
    ['165,5 CM', height, 165.5],
    ['1,65 m', height, 165],
    ['1.65m', height, 165],
    ['1 m 65', height, 165],
    ['1m65', height, 165],
    ['1 m 6 cm', height, 106],
    ['64 in', height, 162.56],
    ['64"', height, 162.56],
    ['64 inches', height, 162.56],
    ['5 ft 4 in', height, 162.56],
    ['5ft 4', height, 162.56],
    ['5\'4"', height, 162.56],
    ['5’ 4.5”', height, 163.83],
    ["5'4''", height, 162.56],
    ['5 foot 4 inches', height, 162.56],
    ['5.5 ft', height, 167.64],
    ['12.4 s', upAndGo, 12.4],
    ['1 min 5 s', upAndGo, 65],
    ['1 min 5', upAndGo, 65],
    ['12 sec.', upAndGo, 12],
    ['12 stands', stands, 12],
    ['1 stand', stands, 1],
    ['−3', pain, -3],
    ['1,234.5 mm', height, 123.45],
    ['1.234,5 mm', height, 123.45],
  ] as const)('%s is read', (typed, scale, value) => {
    expect(read(typed, scale)).toEqual(value);
  });

  it.each([
    ['1,234', stands, ['1.2340 stands']],
    ['12.345', upAndGo, ['12.3450 s']],
    ['1,650 mm', height, ['1650 mm']],
    ['1,234 s', upAndGo, ['1.2340 s', '1234 s']],
    ['5.4', height, ['5 ft 4 in', '5.4 ft']],
    ['5,11', height, ['5 ft 11 in', '5.11 ft']],
    ['64', height, ['64 in']],
    ['1.65', height, ['1.65 m']],
    ['1650', height, ['1650 mm']],
    ['1 1/2', wall, ['1.5 cm']],
    ['1½ in', wall, ['1.5 in']],
    ['5\' 4½"', height, ['5 ft 4.5 in']],
    ['5 ft 14 in', height, ['6 ft 2 in']],
    ['1 m 6', height, ['1 m 6 cm', '1.6 m']],
    ['3/10', pain, ['3']],
  ] as const)('%s is asked about', (typed, scale, readings) => {
    expect(readTyped(typed, scale).kind).toBe('several');
    expect(read(typed, scale)).toEqual(readings);
  });

  it.each([
    ['', 'empty'],
    ['\u00a0 ', 'empty'],
    ['tall', 'not-a-number'],
    ['NaN', 'not-a-number'],
    ['Infinity', 'not-a-number'],
    ['1e2', 'unknown-unit'],
    ['0x41', 'unknown-unit'],
    ['1,2,3', 'not-a-number'],
    ['1.2.3', 'not-a-number'],
    ['5,', 'not-a-number'],
    ['1/0', 'not-a-number'],
    ['5-4', 'not-a-number'],
    ['160-165', 'not-a-number'],
    ['165 kg', 'unknown-unit'],
    ['165 s', 'unknown-unit'],
    ['5 ft 4 cm', 'unknown-unit'],
    ['5.5 ft 4 in', 'not-a-number'],
    ['165 cm or so', 'unknown-unit'],
    ['9'.repeat(61), 'not-a-number'],
  ])('%j is not read, and it is said why', (typed, why) => {
    expect(read(typed, height)).toBe(why);
  });

  it('in a unit of the clinic’s own is read with the word or without it', () => {
    const details = { id: 'x', patientId: null, name: 'Grip', unit: 'kg', least: 0, most: 90 };
    const own = measureOfOwn({ ...details, better: 'higher' }, catalogue);
    expect([read('12,5 KG', own), read('12.5', own), read('12 lb', own)]).toEqual([
      12.5,
      12.5,
      'unknown-unit',
    ]);
  });
});

const scales = fc.constantFrom<Measure>(...catalogue.measures);
/** Hundredths, so that what is expected is known exactly. */
const hundredths = fc.integer({ min: 0, max: 25_000 });

describe('what is typed, whatever it is', () => {
  it('is read back as it was shown', () => {
    fc.assert(
      fc.property(scales, hundredths, fc.boolean(), (scale, number, hasComma) => {
        const value = number / 100;
        const shown = valueText(value, scale).replace('.', hasComma ? ',' : '.');
        expect(readTyped(shown, scale)).toEqual({
          kind: 'one',
          value: Number(numberText(value, scale.decimals)),
        });
      }),
      { numRuns: 300 },
    );
  });

  it('means the same in every unit, with point or comma, close up or apart', () => {
    const units = [
      ['cm', 100],
      ['mm', 10],
      ['m', 10_000],
      ['in', 254],
      ['ft', 3048],
    ] as const;
    fc.assert(
      fc.property(
        hundredths,
        fc.constantFrom(...units),
        fc.constantFrom('.', ','),
        fc.constantFrom('', ' ', '\u00a0'),
        (number, [unit, centimetreHundredths], point, gap) => {
          const typed = `${String(number / 100).replace('.', point)}${gap}${unit}`;
          const found = readTyped(typed, height);
          expect(found.kind).toBe('one');
          if (found.kind !== 'one') return;
          // In whole numbers, so that no binary fraction comes in between.
          expect(Math.round(found.value * 10_000)).toBe(number * centimetreHundredths);
        },
      ),
      { numRuns: 300 },
    );
  });

  it('never gives anything but a number that is one, or a question with answers that are none', () => {
    const piece = fc.constantFrom(
      ...'0123456789.,/ \'"½-+',
      'cm',
      'in',
      'ft',
      'm',
      ' ',
      'e',
      'NaN',
      'stands',
      's',
    );
    const typed = fc.oneof(
      fc.string(),
      fc.array(piece, { maxLength: 8 }).map((pieces) => pieces.join('')),
    );
    fc.assert(
      fc.property(scales, typed, (scale, text) => {
        const found = readTyped(text, scale);
        if (found.kind === 'one') expect(Number.isFinite(found.value)).toBe(true);
        if (found.kind !== 'several') return;
        for (const reading of found.readings) {
          expect(readTyped(reading.text, scale), reading.text).toEqual({ kind: 'one', value: reading.value });
        }
      }),
      { numRuns: 1000 },
    );
  });
});

describe('an entry', () => {
  it('is refused when it cannot be, asked about when it is rare or far from the last, and else taken', () => {
    expect(judgeEntry(height, '165', null)).toEqual({ kind: 'usual', value: 165 });
    expect(judgeEntry(height, '134.9 cm', null)).toEqual({ kind: 'unusual', value: 134.9, why: 'range' });
    expect(judgeEntry(height, '240 cm', null)).toEqual({ kind: 'refused', why: 'not-plausible' });
    expect(judgeEntry(height, '156', 165)).toEqual({ kind: 'unusual', value: 156, why: 'step' });
    expect(judgeEntry(height, '162', 165)).toEqual({ kind: 'usual', value: 162 });
    expect(judgeEntry(wall, '-1', null)).toEqual({ kind: 'refused', why: 'not-plausible' });
    expect(judgeEntry(pain, '11', null)).toEqual({ kind: 'refused', why: 'not-plausible' });
    expect(judgeEntry(pain, '3.5', null)).toEqual({ kind: 'refused', why: 'not-whole' });
    expect(judgeEntry(pain, '10', 0)).toEqual({ kind: 'usual', value: 10 });
    expect(judgeEntry(stands, '12.0', null)).toEqual({ kind: 'usual', value: 12 });
    expect(judgeEntry(height, '5.4', null).kind).toBe('several');
    expect(judgeEntry(height, 'tall', null)).toEqual({ kind: 'refused', why: 'not-a-number' });
  });

  it('that is taken lies within what is plausible, whatever was typed', () => {
    fc.assert(
      fc.property(
        scales,
        fc.integer({ min: -1000, max: 40_000 }),
        fc.option(hundredths),
        (scale, number, last) => {
          const entry = judgeEntry(scale, `${number / 100} ${scale.unit}`, last === null ? null : last / 100);
          const { least, most } = scale.plausible;
          const isPossible = number / 100 >= least && number / 100 <= most;
          const isWhole = scale.decimals > 0 || number % 100 === 0;
          expect(entry.kind !== 'refused').toBe(isPossible && isWhole);
          if (entry.kind === 'usual' || entry.kind === 'unusual') expect(entry.value).toBe(number / 100);
        },
      ),
      { numRuns: 300 },
    );
  });
});
