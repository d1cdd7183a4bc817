import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ReadPrescription, readPrescription, weekdays } from '../../src/prescription/content.js';
import { differences } from '../../src/prescription/differences.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { programs } from '../script/arbitraries.js';

const catalogues = await readCatalogues('audio-templates');
const catalogue = catalogues.get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');

const base = {
  format: 'stillcount-program/1',
  title: 'Morning',
  exercises: [
    { exercise: 'rest-arms-open', dose: { durationSeconds: 300 } },
    { exercise: 'head-press', dose: { reps: 5, holdSeconds: 5 } },
    { exercise: 'arm-reach', side: 'alternate', dose: { reps: 4 } },
  ],
};

function read(program: object, often: object = {}): ReadPrescription {
  return readPrescription({ format: 'stillcount-prescription/1', ...often, program }, 'version', catalogues);
}

const inWords = (before: ReadPrescription, after: ReadPrescription) =>
  differences(before, after, (id) => id).map(({ where, change }) => `${where}: ${change}`);

/** Everything that the patient does or hears. */
function essence({ settlements: _settlements, program, weekdayTimes, ...often }: ReadPrescription): string {
  const { file: _file, catalogue: _catalogue, exercises, ...settings } = program;
  const work = exercises.map(({ exercise, index: _index, ...rest }) => ({ ...rest, exercise: exercise.id }));
  const ofWeekdays = weekdays.map((weekday) => weekdayTimes[weekday] ?? 'as on other days');
  return JSON.stringify([often, ofWeekdays, settings, work]);
}

describe('the differences between two versions', () => {
  it('name each time for position changes that is another one', () => {
    const slow = read({ ...base, changeTimes: { lyingDownSeconds: 75, rollingSeconds: 20 } });
    expect(inWords(read(base), slow)).toEqual([
      'Time for position changes: lying down from standing 1 min 15 s (was 40 s)',
      'Time for position changes: rolling from the back onto the side 20 s (was 12 s)',
    ]);
    expect(inWords(slow, slow)).toEqual([]);
  });

  it('are said in words, with units', () => {
    const after = read(
      {
        ...base,
        exercises: [
          { exercise: 'rest-arms-open', dose: { durationSeconds: 450 } },
          { exercise: 'head-press', dose: { reps: 6, holdSeconds: 6 }, note: 'Chin level.' },
          { exercise: 'arm-reach', side: 'left', dose: { reps: 4 } },
        ],
      },
      { timesADay: 2, timesOfDay: ['08:00', '17:30'] },
    );
    expect(inWords(read(base), after)).toEqual([
      'How often: sessions a day 2 (was 1)',
      'How often: times 8:00 AM, 5:30 PM (was the usual times)',
      'Rest on the back with arms open: time 7 min 30 s (was 5 min)',
      'Straight head press: repetitions 6 (was 5)',
      'Straight head press: hold 6 s (was 5 s)',
      'Straight head press: spoken note “Chin level.” (was none)',
      expect.stringContaining('side left (was alternate)'),
    ]);
  });

  it('tell what changed about when it is done: times of a weekday, first and last day, day of review', () => {
    const before = read(base, {
      timesADay: 2,
      weekdayTimes: { monday: ['10:00'], saturday: ['09:30', '18:00'] },
      startsOn: '2026-12-01',
      endsOn: '2027-01-31',
    });
    const after = read(base, {
      timesADay: 2,
      daysAWeek: 6,
      weekdayTimes: { saturday: ['09:30', '18:30'], sunday: [] },
      startsOn: '2026-12-01',
      reviewOn: '2027-01-15',
    });
    expect(inWords(before, after)).toEqual([
      'How often: days a week 6 (was 7)',
      'How often: Mondays as on other days (was 10:00 AM)',
      'How often: Saturdays 9:30 AM, 6:30 PM (was 9:30 AM, 6:00 PM)',
      'How often: Sundays no session (was as on other days)',
      'How long: last day none (was Jan 31, 2027)',
      'How long: review date Jan 15, 2027 (was none)',
    ]);
  });

  it('tell what may be chosen on a hard day', () => {
    const before = read(base, { easier: { lighter: true } });
    const after = read(base, { easier: { shorterMinutes: 9 } });
    expect(inWords(before, after)).toEqual([
      'On a hard day: shorter session 9 min (was none)',
      'On a hard day: lighter session no (was yes)',
    ]);
    expect(
      inWords(read(base), read(base, { easier: {} })),
      'versions from before there was a choice',
    ).toEqual([]);
  });

  it('tell how a precaution was settled, by the name of the precaution', () => {
    const settled = (settlements: object) =>
      readPrescription({ format: 'stillcount-prescription/1', settlements, program: base }, 'v', catalogues);
    const exercises = ['arm-reach'];
    const cleared = settled({ reach: { exercises, clearedBy: 'Dr Fenn', clearedOn: '2026-11-02' } });
    const otherwise = settled({
      reach: { exercises, reason: 'Fitted in 2009' },
      lying: { isArranged: true },
    });
    const named = differences(cleared, otherwise, (id) => `Precaution ${id}`);
    expect(named).toEqual([
      {
        where: 'Precaution reach',
        change:
          'done otherwise, Fitted in 2009 (Overhead arm reach on the out-breath) ' +
          '(was cleared by Dr Fenn on Nov 2, 2026 (Overhead arm reach on the out-breath))',
      },
      { where: 'Precaution lying', change: 'modified as advised (was not resolved)' },
    ]);
    const said = { exercises, clearedBy: 'Dr Fenn', clearedOn: '2026-11-02', answered: 'yes: left' };
    expect(
      differences(cleared, settled({ reach: said }), (id) => id),
      'another answer',
    ).toHaveLength(1);
  });

  it('name what was added, left out and put in another order', () => {
    const after = read({
      ...base,
      exercises: [base.exercises[1], base.exercises[0], { exercise: 'head-press' }, { exercise: 'bridge' }],
    });
    const words = inWords(read(base), after);
    expect(words).toContain('Straight head press: added');
    expect(words).toContain('Low bridge: added');
    expect(words.some((line) => line.endsWith(': removed'))).toBe(true);
    expect(words.some((line) => line.startsWith('Order: Straight head press'))).toBe(true);
  });

  it('are none exactly when the patient does and hears the same', () => {
    // Few values, so that two versions often have the same one.
    const times = fc.constantFrom([], ['08:00', '12:30', '17:00'], ['08:00', '12:30', '18:00']);
    const day = (...days: string[]) => fc.constantFrom(null, ...days);
    const timetables = fc.record({
      timesADay: fc.integer({ min: 1, max: 3 }),
      daysAWeek: fc.integer({ min: 1, max: 5 }),
      timesOfDay: times,
      weekdayTimes: fc.dictionary(fc.constantFrom('monday', 'sunday'), times, { maxKeys: 2 }),
      startsOn: day('2026-12-01', '2026-12-02'),
      endsOn: day('2027-01-31', '2027-02-28'),
      reviewOn: day('2027-01-15'),
      easier: fc.record({ shorterMinutes: fc.constantFrom(null, 9), lighter: fc.boolean() }),
    });
    const versions = (of: fc.Arbitrary<object>) =>
      fc.tuple(of, timetables).map(([program, { timesOfDay, weekdayTimes, ...rest }]) =>
        read(program, {
          ...rest,
          timesOfDay: timesOfDay.slice(0, rest.timesADay),
          weekdayTimes: Object.fromEntries(
            Object.entries(weekdayTimes).map(([weekday, own]) => [weekday, own.slice(0, rest.timesADay)]),
          ),
        }),
      );
    const [any, same] = [versions(programs(catalogue)), versions(fc.constant(base))];
    fc.assert(
      fc.property(fc.oneof(fc.tuple(any, any), fc.tuple(same, same)), ([one, other]) => {
        expect(differences(one, one, (id) => id)).toEqual([]);
        expect(differences(one, other, (id) => id).length > 0).toBe(essence(one) !== essence(other));
      }),
      { numRuns: 400 },
    );
  });

  it('show any single setting that was changed', () => {
    const settings = {
      title: 'Evening',
      listener: { name: 'Emil', sayAs: 'Ay meel' },
      voice: 'embedded:rms',
      wordsPerMinute: 120,
      pronunciations: { towel: 'tow el' },
      breath: { inSeconds: 3, outSeconds: 7 },
      setUp: { surface: 'firm-bed', headSupport: 'pillow', knees: 'straight' },
      counting: { which: 'last-five', direction: 'up' },
      coaching: 'quiet',
      presenceEverySeconds: 30,
      timeBudgetMinutes: 12,
      session: { number: 4, seed: 9 },
    };
    for (const [key, value] of Object.entries(settings)) {
      expect(inWords(read(base), read({ ...base, [key]: value })), key).not.toEqual([]);
    }
  });
});

describe('the content of a version', () => {
  it('is refused with the place of what is wrong', () => {
    const faultOf = (content: unknown) => {
      try {
        readPrescription(content, 'draft', catalogues);
        return 'accepted';
      } catch (error) {
        return error instanceof Error ? error.message : 'thrown';
      }
    };
    const good = { format: 'stillcount-prescription/1', program: base };
    expect(faultOf(good)).toBe('accepted');
    expect(faultOf({ ...good, timesADay: 9 })).toContain('timesADay');
    const at = (...timesOfDay: string[]) => faultOf({ ...good, timesADay: 2, timesOfDay });
    expect([at(), at('08:00', '17:30'), at('00:00', '23:59')]).toEqual(['accepted', 'accepted', 'accepted']);
    expect(at('08:00')).toMatch(/timesOfDay: one time for each session/);
    expect(at('07:00', '08:00', '09:00')).toMatch(/timesOfDay: one time for each session/);
    for (const times of [
      ['17:30', '08:00'],
      ['08:00', '08:00'],
    ])
      expect(at(...times)).toMatch(/timesOfDay: .*order/);
    for (const time of ['8:00', '24:00', '08:60', '08:00:00', 'noon', '']) {
      expect(at('00:00', time)).toMatch(/timesOfDay\[1\]: not a time of day/);
    }
    expect(faultOf({ ...good, weekdayTimes: { monday: ['09:00', '10:00'] } })).toMatch(
      /weekdayTimes: no more times than there are sessions a day/,
    );
    expect(faultOf({ ...good, weekdayTimes: { monday: [''] } })).toMatch(
      /weekdayTimes.monday\[0\]: not a time of day/,
    );
    expect(faultOf({ ...good, weekdayTimes: { someday: [] } })).toContain('weekdayTimes');
    expect(faultOf({ ...good, weekdayTimes: { sunday: [] } })).toMatch(/daysAWeek: more days a week/);
    expect(faultOf({ ...good, daysAWeek: 6, weekdayTimes: { sunday: [] } })).toBe('accepted');
    const from = (startsOn: string, endsOn: string) => faultOf({ ...good, startsOn, endsOn });
    expect([from('2026-12-01', '2026-12-01'), from('2026-12-01', '2027-12-01')]).toEqual([
      'accepted',
      'accepted',
    ]);
    expect(from('2026-12-02', '2026-12-01')).toMatch(/endsOn: the last day is before the first/);
    for (const noDay of ['2026-02-29', '1.12.2026', ''])
      expect(faultOf({ ...good, reviewOn: noDay }), noDay).toMatch(/reviewOn: not a date/);
    const shorter = (shorterMinutes: unknown) => faultOf({ ...good, easier: { shorterMinutes } });
    expect([shorter(3), shorter(60), shorter(null)]).toEqual(['accepted', 'accepted', 'accepted']);
    for (const minutes of [2, 61, 9.5, '9'])
      expect(shorter(minutes), String(minutes)).toContain('easier.shorterMinutes');
    expect(faultOf({ ...good, colour: 'green' })).toContain('colour');
    expect(faultOf({ ...good, program: { ...base, title: 7 } })).toContain('title');
    expect(faultOf({ ...good, program: undefined })).toContain('draft');
    const tooLong = { exercise: 'head-press', dose: { holdSeconds: 60 } };
    expect(faultOf({ ...good, program: { ...base, exercises: [tooLong] } })).toContain(
      'exercises[0].dose.holdSeconds',
    );
  });
});
