import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pathProblems, placeToAdd } from '../../src/program/path.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

const catalogue = (await readCatalogues('audio-templates')).get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');
const all = [...catalogue.exercises.values()];
const named = (...ids: string[]) =>
  ids.map((id) => catalogue.exercises.get(id) ?? expect.unreachable(`${id} is in the catalogue`));

const added = (ids: string[], id: string) => {
  const list = named(...ids);
  const [exercise] = named(id);
  if (exercise === undefined) return [];
  return list.toSpliced(placeToAdd(list, exercise), 0, exercise).map((each) => each.id);
};

describe('the place of an exercise that is added', () => {
  it.each([
    [
      'before the way out of bed',
      ['head-press', 'out-of-bed'],
      'heel-slide',
      ['head-press', 'heel-slide', 'out-of-bed'],
    ],
    [
      'before a way out in two steps',
      ['log-roll', 'sit-before-standing'],
      'heel-slide',
      ['heel-slide', 'log-roll', 'sit-before-standing'],
    ],
    ['at the end where nothing leads out', ['head-press'], 'heel-slide', ['head-press', 'heel-slide']],
    [
      'at the end for what leads out',
      ['head-press', 'log-roll'],
      'sit-before-standing',
      ['head-press', 'log-roll', 'sit-before-standing'],
    ],
    [
      'first for what leads into bed',
      ['head-press', 'out-of-bed'],
      'into-bed',
      ['into-bed', 'head-press', 'out-of-bed'],
    ],
  ])('is %s', (_case, ids, id, expected) => {
    expect(added(ids, id)).toEqual(expected);
  });

  it('never makes a possible program impossible, but for a second way down or out', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...all), { maxLength: 8 }), (chosen) => {
        const isChange = ({ path: { to } }: (typeof all)[number]) => to !== undefined;
        const once = chosen.filter((each, index) => !isChange(each) || chosen.indexOf(each) === index);
        const hasOneWay = once.filter(({ id }) => id === 'out-of-bed' || id === 'log-roll').length <= 1;
        const isWhole =
          !once.some(({ id }) => id === 'sit-before-standing') || once.some(({ id }) => id === 'log-roll');
        fc.pre(hasOneWay && isWhole);
        const inOrder = [...once].sort((a, b) => Number(b.id === 'log-roll') - Number(a.id === 'log-roll'));
        const list: typeof all = [];
        for (const exercise of inOrder) list.splice(placeToAdd(list, exercise), 0, exercise);
        expect(pathProblems(list)).toEqual([]);
      }),
    );
  });
});
