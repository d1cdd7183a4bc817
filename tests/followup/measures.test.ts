import { readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { changeBetween, type Taken } from '../../src/followup/change.js';
import { type Measure, parseMeasures } from '../../src/followup/measures.js';
import { measureOfOwn } from '../../src/followup/ownMeasures.js';
import { agesOn, applyingTo, bandOf, belowAverageAt } from '../../src/followup/reference.js';
import { readMeasures } from '../../src/session/readClinicWords.js';
import { refusalOf } from '../refusal.js';

const catalogue = await readMeasures('audio-templates');
const measureOf = (id: string): Measure =>
  catalogue.measures.find((measure) => measure.id === id) ?? expect.unreachable(id);
const chairStand = measureOf('chair-stand-30s');
const upAndGo = measureOf('timed-up-and-go');
const height = measureOf('height');
const pain = measureOf('pain');

const taken = (value: number, clinicianId = 'ada'): Taken => ({ value, takenOn: '2026-11-25', clinicianId });
const verdict = (measure: Measure, from: number, to: number, by = 'ada') =>
  changeBetween(measure, taken(from), taken(to, by)).verdict;
const noneOf = { lastOf: () => null, possibleAges: [80, 81] };
const appliesTo = (measure: Measure, ...values: number[]) =>
  applyingTo(measure, { ...noneOf, values }).map(({ consideration }) => consideration.id);

describe('chair stands', () => {
  // CDC STEADI, 30-second chair stand: below average when under. Seen in pages that reproduce the form; the lower ends
  // of Rikli & Jones 1999, J Aging Phys Act 7:162, for 60-64 and 65-69 (14 and 12, men; 12 and 11, women) agree.
  const table = [
    { from: 60, until: 64, men: 14, women: 12 },
    { from: 65, until: 69, men: 12, women: 11 },
    { from: 70, until: 74, men: 12, women: 10 },
    { from: 75, until: 79, men: 11, women: 10 },
    { from: 80, until: 84, men: 10, women: 9 },
    { from: 85, until: 89, men: 8, women: 8 },
    { from: 90, until: 94, men: 7, women: 4 },
  ];
  const rules = chairStand.belowAverage ?? expect.unreachable('no table');

  it.each(table)(
    'of $from to $until are below average under $men, and $women',
    ({ from, until, men, women }) => {
      for (const age of [from, until]) {
        const held = (value: number) => belowAverageAt(rules, value, [age]);
        expect(held(men - 1)).toMatchObject([{ from, until, men: { cutOff: men, isBelow: true } }]);
        expect(held(men)).toMatchObject([{ men: { isBelow: false } }]);
        expect(held(women - 1)).toMatchObject([{ from, until, women: { cutOff: women, isBelow: true } }]);
        expect(held(women)).toMatchObject([{ women: { isBelow: false } }]);
      }
    },
  );

  it('have no cut-off at other ages', () => {
    expect(rules.ages).toHaveLength(table.length);
    for (const age of [0, 59, 95, 105]) expect(belowAverageAt(rules, 0, [age]), String(age)).toEqual([]);
  });

  it('are held against both bands when the year of birth leaves it open', () => {
    // Born in 1956: 69 or 70 in November 2026, and 70 for certain on the last day of the year.
    expect(belowAverageAt(rules, 11, agesOn(1956, '2026-11-25')).map(({ from }) => from)).toEqual([65, 70]);
    expect(belowAverageAt(rules, 11, agesOn(1956, '2026-12-31')).map(({ from }) => from)).toEqual([70]);
    expect(belowAverageAt(rules, 11, agesOn(1954, '2026-11-25')).map(({ from }) => from)).toEqual([70]);
  });
});

describe('an age of which only the year is known', () => {
  it('is that of every birthday of the year, counted by the calendar of the platform', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1900, max: 2026 }),
        fc.integer({ min: 0, max: 365 }),
        fc.integer({ min: 0, max: 365 }),
        (birthYear, birthday, today) => {
          const born = new Date(Date.UTC(birthYear, 0, 1 + birthday));
          const day = new Date(Date.UTC(2026, 0, 1 + today));
          fc.pre(born.getUTCFullYear() === birthYear && day.getUTCFullYear() === 2026 && born <= day);
          const hadBirthday = day.toISOString().slice(5, 10) >= born.toISOString().slice(5, 10);
          const age = 2026 - birthYear - (hadBirthday ? 0 : 1);
          expect(agesOn(birthYear, day.toISOString().slice(0, 10))).toContain(age);
        },
      ),
      { numRuns: 300 },
    );
    expect(agesOn(1946, '2026-01-01')).toEqual([79, 80]);
  });
});

describe('a change against the smallest real one', () => {
  it('of chair stands is three, as 2.5 means (Gill 2022, Musculoskeletal Care)', () => {
    expect([verdict(chairStand, 8, 10), verdict(chairStand, 8, 11)]).toEqual(['within', 'more']);
    expect([verdict(chairStand, 11, 9), verdict(chairStand, 11, 8)]).toEqual(['within', 'more']);
    expect(changeBetween(chairStand, taken(8), taken(11))).toMatchObject({ amount: 3, direction: 'better' });
  });

  it('of the timed up and go is 1.10 s, and 1.14 s of two raters (Alghadir 2015, BMC Musculoskelet Disord)', () => {
    expect(12.0 - 10.9, 'binary fractions fall just short').toBeLessThan(1.1);
    expect([verdict(upAndGo, 12.0, 10.91), verdict(upAndGo, 12.0, 10.9)]).toEqual(['within', 'more']);
    expect([verdict(upAndGo, 12.0, 10.87, 'ben'), verdict(upAndGo, 12.0, 10.86, 'ben')]).toEqual([
      'within',
      'more',
    ]);
    expect(changeBetween(upAndGo, taken(12.0), taken(10.9))).toMatchObject({
      amount: -1.1,
      direction: 'better',
    });
    expect(changeBetween(upAndGo, taken(10.9), taken(12.0))).toMatchObject({ direction: 'worse' });
  });

  it('of pain is two points and 30 per cent, and says when only one is reached (Farrar 2001, Pain 94:149)', () => {
    expect(verdict(pain, 6, 4)).toBe('more');
    expect(verdict(pain, 6, 5)).toBe('within');
    expect(verdict(pain, 9, 7), 'two points, but 22 per cent').toBe('more-by-amount');
    expect(verdict(pain, 3, 2), 'a third, but one point').toBe('more-by-percent');
    expect(changeBetween(pain, taken(3), taken(2)).percent).toBeCloseTo(-33.33, 2);
  });

  it('of pain that rose is two points: the per cent were published for pain that eased', () => {
    expect([verdict(pain, 1, 2), verdict(pain, 9, 10), verdict(pain, 4, 6)]).toEqual([
      'within',
      'within',
      'more',
    ]);
    expect(changeBetween(pain, taken(0), taken(3))).toMatchObject({
      percent: null,
      verdict: 'more',
      direction: 'worse',
    });
  });

  it('of height is never called chance: 2 cm are for considering an image (LeBoff 2022, BHOF)', () => {
    expect([verdict(height, 165.1, 163.1), verdict(height, 165.1, 163.2)]).toEqual([
      'no-number',
      'no-number',
    ]);
    expect(changeBetween(height, taken(165), taken(164)).direction).toBe('other');
    const { protocol } = catalogue.measures.find(({ id }) => id === 'height') ?? expect.unreachable('height');
    expect(protocol.text).toMatch(/Measure twice/);
  });

  it('has no verdict where none is published', () => {
    for (const id of ['occiput-to-wall', 'c7-to-wall', 'blocks-under-head', 'height', 'height-in-youth']) {
      expect(changeBetween(measureOf(id), taken(1), taken(9)), id).toMatchObject({
        verdict: 'no-number',
        needed: null,
      });
    }
  });

  it('is the same size either way, and never real when nothing changed', () => {
    const anyMeasure = fc.constantFrom(...catalogue.measures);
    const value = fc.integer({ min: 0, max: 3000 }).map((hundredths) => hundredths / 100);
    fc.assert(
      fc.property(anyMeasure, value, value, (measure, a, b) => {
        const there = changeBetween(measure, taken(a), taken(b));
        const back = changeBetween(measure, taken(b), taken(a));
        expect(there.amount).toBe(a === b ? 0 : -back.amount);
        expect(Math.round(there.amount * 100)).toBe(Math.round(b * 100) - Math.round(a * 100));
        if (a === b) expect(['within', 'no-number']).toContain(there.verdict);
        if (measure.realChange.kind === 'amount') expect(there.verdict).toBe(back.verdict);
      }),
      { numRuns: 300 },
    );
  });
});

describe('considerations', () => {
  const youth = (value: number | null) => ({
    lastOf: (id: string) => (id === 'height-in-youth' ? value : null),
    possibleAges: [80, 81],
  });
  const ids = (...of: Parameters<typeof applyingTo>) =>
    applyingTo(...of).map(({ consideration }) => consideration.id);

  it('of height begin with 1.5 in, given as 4 cm, since youth (LeBoff 2022, BHOF)', () => {
    const since = (youthHeight: number, now: number) => ids(height, { ...youth(youthHeight), values: [now] });
    expect(since(165, 161)).toEqual(['loss-since-youth']);
    expect(since(65 * 2.54, 63.5 * 2.54), 'one and a half inches, measured in inches').toEqual([
      'loss-since-youth',
    ]);
    expect(since(165, 161.2), 'less than an inch and a half').toEqual([]);
    expect(ids(height, { ...youth(null), values: [150] }), 'nobody knows').toEqual([]);
  });

  it('of height begin with 0.8 in, given as 2 cm, between visits, from the greatest before (LeBoff 2022, BHOF)', () => {
    expect(appliesTo(height, 165.1, 163.1)).toEqual(['loss-between-visits']);
    expect(appliesTo(height, 164, 163, 162), 'in small steps').toEqual(['loss-between-visits']);
    expect(appliesTo(height, 165, 163.1)).toEqual([]);
    expect(appliesTo(height, 160, 163)).toEqual([]);
    expect(appliesTo(height, 160)).toEqual([]);
    expect(applyingTo(height, { ...noneOf, values: [165.1, 163.1] })[0]?.found).toBe(2);
  });

  it('of height are for people who may be 50 (LeBoff 2022, BHOF), also when no age is known', () => {
    const at = (possibleAges: number[] | null) =>
      ids(height, { ...youth(null), values: [165, 160], possibleAges });
    expect(at([48, 49])).toEqual([]);
    expect(at([49, 50])).toEqual(['loss-between-visits']);
    expect(at(null)).toEqual(['loss-between-visits']);
  });

  it('of the timed up and go begin with 12 s (CDC STEADI; LOINC 89422-0)', () => {
    expect([appliesTo(upAndGo, 11.99), appliesTo(upAndGo, 12)]).toEqual([[], ['risk-of-falling']]);
  });

  it('of the head and neck begin where studies put them', () => {
    const head = measureOf('occiput-to-wall');
    // Osteoporosis Canada: over 5 cm; Thai community studies: hyperkyphosis from 6.5 cm.
    expect([appliesTo(head, 5), appliesTo(head, 5.1)]).toEqual([[], ['possible-fracture']]);
    expect(appliesTo(head, 6.5)).toEqual(['possible-fracture', 'rounded-back']);
    // Thai community studies: mild up to 5.0, moderate 5.1 to 8.0, severe over 8.0 cm.
    expect([0, 0.1, 5, 5.1, 8, 8.1].map((value) => bandOf(head, value))).toEqual([
      null,
      'mild',
      'mild',
      'moderate',
      'moderate',
      'severe',
    ]);
    // Amatachaya group: 7.5 and 9.5 cm. Kado 2004: one block or more.
    const neck = measureOf('c7-to-wall');
    expect([appliesTo(neck, 7.4), appliesTo(neck, 7.5)]).toEqual([[], ['rounded-back']]);
    expect(appliesTo(neck, 9.5)).toContain('possible-fracture');
    const blocks = measureOf('blocks-under-head');
    expect([appliesTo(blocks, 0), appliesTo(blocks, 1)]).toEqual([[], ['rounded-back']]);
  });

  it('leave the decision to people, and say where they come from', () => {
    for (const { considerations } of catalogue.measures) {
      for (const { words, id, source } of considerations) {
        expect(source.text.length, id).toBeGreaterThan(10);
        expect(words, id).not.toMatch(/\b(must|always|never|diagnosed)\b/);
        if (/fracture|loss/.test(id)) expect(words, id).toMatch(/a doctor/);
        if (/fracture|loss|falling/.test(id)) expect(words, id).toMatch(/not a diagnosis/);
      }
    }
  });
});

describe('measures that are not in the catalogue', () => {
  const details = { id: 'x', name: 'Grip', unit: 'kg', least: 0, most: 90, better: 'higher' } as const;

  it('are compared with themselves only', () => {
    const own = measureOfOwn({ ...details, patientId: null }, catalogue);
    expect(own).toMatchObject({ unit: 'kg', plausible: { least: 0, most: 90 }, considerations: [] });
    expect(changeBetween(own, taken(10), taken(40))).toMatchObject({
      verdict: 'no-number',
      direction: 'better',
    });
  });

  it('are activities from 0 to 10 when a patient chose them, whatever else was written down', () => {
    const own = measureOfOwn({ ...details, patientId: 'rosa', name: 'Hang up the wash' }, catalogue);
    expect(own).toMatchObject({ name: 'Hang up the wash', unit: '', plausible: { least: 0, most: 10 } });
  });
});

describe('a file of measures', () => {
  const file = 'audio-templates/en/measures.yaml';
  const refused = (text: string) => refusalOf(() => parseMeasures(text, file));

  it('that is wrong is named with the place', async () => {
    const text = await readFile(file, 'utf8');
    expect(parseMeasures(text, file)).toEqual(catalogue);
    expect(refused(text.replace('better: lower', 'better: less'))).toMatch(
      /measures\.yaml, line \d+, measures\[0\]\.better/,
    );
    const faults: [string, string, RegExp][] = [
      ['id: c7-to-wall', 'id: occiput-to-wall', /measures\[1\].*twice/],
      [
        'usual: { least: 0, most: 15, step: 4 }',
        'usual: { least: 0, most: 45 }',
        /measures\[0\]\.usual: .*plausible/,
      ],
      ['otherUnits: [mm, in]', 'otherUnits: [mm, s]', /measures\[0\]\.otherUnits: .*cm/],
      ['measure: height-in-youth,', 'measure: heights,', /when\.measure: there is no such measure/],
      [
        'plausible: { least: 0, most: 40 }',
        'plausible: { least: 40, most: 40 }',
        /plausible: the least is not below/,
      ],
      ['words: moderate, upTo: 8.0', 'words: moderate', /bands\.steps\[1\]: only the last/],
      [
        'words: moderate, upTo: 8.0',
        'words: moderate, upTo: 4.0',
        /bands\.steps\[1\]: it does not end above/,
      ],
      ['from: 65, until: 69', 'from: 64, until: 69', /ages\[1\]: ages overlap/],
      ['- id: rounded-back', '- id: possible-fracture', /considerations\[1\]: this id is given twice/],
      ['status: secondary', 'status: hearsay', /status: not an allowed value/],
    ];
    for (const [right, wrong, said] of faults) {
      expect(text, right).toContain(right);
      expect(refused(text.replace(right, wrong)), wrong).toMatch(said);
    }
    expect(refused(text.replace(/\nactivity:[\s\S]*$/, '\n'))).toContain('activity');
  });

  it('that is missing is the work that failed', async () => {
    await expect(readMeasures(join(tmpdir(), 'no-such-templates'))).rejects.toMatchObject({
      kind: 'work',
      message: expect.stringContaining('measures.yaml'),
    });
  });
});
