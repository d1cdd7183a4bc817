import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { field, treeOf } from '../../../src/http/forms/fields.js';
import { applyListAction, contentFromForm } from '../../../src/http/forms/programForm.js';
import { readCatalogues } from '../../../src/session/readCatalogues.js';
import { timetables } from '../../schedule/timetables.js';
import { programs } from '../../script/arbitraries.js';

const catalogue = (await readCatalogues('audio-templates')).get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');

/** What a browser would send for a program: every value under its dotted name. */
function fieldsOf(value: unknown, name: string): [string, string][] {
  if (typeof value === 'object' && value !== null) {
    return Object.entries(value).flatMap(([key, inner]) => fieldsOf(inner, `${name}.${key}`));
  }
  // A box that is ticked says yes.
  return [[name, typeof value === 'boolean' ? (value ? 'yes' : 'no') : String(value)]];
}

const order = (content: Record<string, unknown>) => {
  const program: unknown = content.program;
  if (typeof program !== 'object' || program === null || !('exercises' in program)) return [];
  return Array.isArray(program.exercises)
    ? program.exercises.map((entry: { exercise: string }) => entry.exercise)
    : [];
};
const list = (...exercises: string[]) => ({
  program: { exercises: exercises.map((exercise) => ({ exercise })) },
});

describe('the prescribing form', () => {
  const easier = fc.record({ minutes: fc.constantFrom(null, 7), isLighter: fc.boolean() });

  it('gives back any program that was put into its fields', () => {
    fc.assert(
      fc.property(programs(catalogue), timetables, easier, (program, timetable, { minutes, isLighter }) => {
        const { weekdayTimes, startsOn, endsOn, reviewOn, ...often } = timetable;
        const other = Object.entries(weekdayTimes);
        const sent = [
          ...fieldsOf(program, 'program'),
          ...Object.entries(often).flatMap(([name, value]) => fieldsOf(value, name)),
          ...Object.entries({ startsOn, endsOn, reviewOn }).map(([name, value]) => [name, value ?? '']),
          ...other.map(([weekday, times]) => [`weekdays.${weekday}.how`, times.length > 0 ? 'own' : 'none']),
          ['easier.shorterMinutes', minutes === null ? '' : String(minutes)],
          ...(isLighter ? [['easier.lighter', 'yes']] : []),
          ...other.flatMap(([weekday, times]) => fieldsOf(times, `weekdays.${weekday}.times`)),
        ];
        expect(contentFromForm(Object.fromEntries(sent))).toEqual({
          format: 'stillcount-prescription/1',
          ...often,
          weekdayTimes: other.length === 0 ? undefined : weekdayTimes,
          startsOn: startsOn ?? undefined,
          endsOn: endsOn ?? undefined,
          reviewOn: reviewOn ?? undefined,
          ...(minutes === null && !isLighter
            ? {}
            : { easier: { shorterMinutes: minutes ?? undefined, lighter: isLighter } }),
          settlements: {},
          // What states nothing has no field: a dose without numbers, no time of the person's own.
          program: JSON.parse(JSON.stringify(program), (_, value) =>
            typeof value === 'object' && !Array.isArray(value) && Object.keys(value).length === 0
              ? undefined
              : value,
          ),
        });
      }),
      { numRuns: 200 },
    );
  });

  it('takes times in any order, and those of a weekday only where it has its own', () => {
    const times = { 'timesOfDay.0': '17:30', 'timesOfDay.1': ' 08:00', 'timesOfDay.2': '' };
    expect(contentFromForm(times).timesOfDay).toEqual(['08:00', '17:30']);
    const monday = (how: string, ...own: string[]) => {
      const fields = own.map((time, index) => [`weekdays.monday.times.${index}`, time]);
      return contentFromForm({ 'weekdays.monday.how': how, ...Object.fromEntries(fields) }).weekdayTimes;
    };
    expect(monday('own', '18:00', '', '10:00')).toEqual({ monday: ['10:00', '18:00'] });
    expect(monday('', '10:00')).toBeUndefined();
    expect(monday('none', '10:00')).toEqual({ monday: [] });
    expect(monday('own', '', ''), 'times that are still missing are no day off').toEqual({ monday: [''] });
    expect(contentFromForm({ 'weekdays.someday.how': 'none' }).weekdayTimes).toBeUndefined();
  });

  it('keeps the order of more than ten exercises, and what is no number as it was typed', () => {
    const fields = Object.fromEntries(
      Array.from({ length: 12 }, (_, index) => [`program.exercises.${index}.exercise`, `e${index}`]),
    );
    expect(order(contentFromForm(fields))).toEqual(Array.from({ length: 12 }, (_, index) => `e${index}`));
    const typed = contentFromForm({ 'program.wordsPerMinute': 'fast', 'program.breath.inSeconds': '4,5' });
    expect(typed.program).toMatchObject({ wordsPerMinute: 'fast', breath: { inSeconds: 4.5 } });
  });

  it('keeps a settlement once something is written for it, with the exercises that it covers', () => {
    const settlements = (fields: Record<string, string>) => contentFromForm(fields).settlements;
    const shown = {
      'settlements.rule.exercises': 'a b',
      'settlements.rule.answered': 'yes: left',
      'settlements.rule.nowExercises': 'a b c',
      'settlements.rule.nowAnswered': 'yes: right',
    };
    expect(settlements(shown), 'shown, and nothing written').toEqual({});
    expect(settlements({ ...shown, 'settlements.rule.isArranged': 'yes' })).toEqual({
      rule: { exercises: ['a', 'b'], answered: 'yes: left', isArranged: true },
    });
    const cleared = { 'settlements.rule.clearedBy': 'Dr Fenn', 'settlements.rule.clearedOn': '2026-11-20' };
    expect(settlements({ ...shown, ...cleared, 'settlements.rule.also': 'yes' })).toEqual({
      rule: {
        exercises: ['a', 'b', 'c'],
        answered: 'yes: right',
        isArranged: false,
        clearedBy: 'Dr Fenn',
        clearedOn: '2026-11-20',
      },
    });
  });

  it('lets no name reach a prototype', () => {
    const tree = treeOf({ 'p.__proto__.polluted': 'yes', 'p.constructor.prototype.polluted': 'yes' }, 'p.');
    expect(Object.keys(tree)).toEqual(['__proto__', 'constructor']);
    expect({}).not.toHaveProperty('polluted');
  });

  it('moves, adds and leaves out exercises, and never loses one at the ends', () => {
    const atEnd = (_added: string, ids: readonly string[]) => ids.length;
    const listAfter = (content: ReturnType<typeof list>, action: string) =>
      applyListAction(content, action, atEnd);
    const abc = list('a', 'b', 'c');
    expect(order(listAfter(abc, 'up:1'))).toEqual(['b', 'a', 'c']);
    expect(order(listAfter(abc, 'down:1'))).toEqual(['a', 'c', 'b']);
    expect(order(listAfter(abc, 'move:2:0'))).toEqual(['c', 'a', 'b']);
    expect(order(listAfter(abc, 'move:0:2'))).toEqual(['b', 'c', 'a']);
    expect(order(listAfter(abc, 'remove:0'))).toEqual(['b', 'c']);
    expect(order(listAfter(abc, 'add:d'))).toEqual(['a', 'b', 'c', 'd']);
    const second = applyListAction(abc, 'add:d', (added, ids) => (added === 'd' ? ids.indexOf('b') : 0));
    expect(order(second), 'where it belongs').toEqual(['a', 'd', 'b', 'c']);
    for (const nothing of ['up:0', 'down:2', 'remove:7', 'remove:x', 'move:0:9', 'add', 'dance:1', '']) {
      expect(order(listAfter(abc, nothing)), nothing).toEqual(['a', 'b', 'c']);
    }
    const twice = list('a', 'b', 'a', 'c');
    expect(order(listAfter(twice, 'leave-out:a c'))).toEqual(['b']);
    expect(order(abc), 'the list given in stays as it was').toEqual(['a', 'b', 'c']);
  });
});

describe('the fields of a form', () => {
  it('are read once, trimmed, the first of several', () => {
    const fields = { one: '  a ', many: ['x', 'y'] };
    expect(field(fields, 'one')).toBe('a');
    expect(field(fields, 'many')).toBe('x');
    expect(field(fields, 'none')).toBe('');
  });
});
