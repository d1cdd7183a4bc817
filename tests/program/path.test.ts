import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pathProblems } from '../../src/program/path.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

/** That nobody lies down after getting up is common practice, no published source. */

const catalogue = (await readCatalogues('audio-templates')).get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');
const all = [...catalogue.exercises.values()];
const named = (ids: readonly string[]) =>
  ids.map((id) => catalogue.exercises.get(id) ?? expect.unreachable(`${id} is in the catalogue`));
const wrong = (...ids: string[]) =>
  pathProblems(named(ids)).map(({ found, allowed }) => `${found}; allowed: ${allowed}`);

const heightOf = { standing: 2, 'sitting-on-edge': 1, 'side-lying': 0, supine: 0 } as const;

describe('an order of exercises', () => {
  it.each([
    [['into-bed', 'head-press', 'log-roll', 'sit-before-standing']],
    [['sit-before-standing']],
    [['head-press']],
  ])('is possible: %s', (ids) => {
    expect(wrong(...ids)).toEqual([]);
  });

  it.each([
    [
      'lying down after sitting up',
      ['head-press', 'log-roll', 'into-bed'],
      'place 3, sitting on the edge of the bed; allowed: place 1',
    ],
    [
      'two ways down, with a way up between them',
      ['into-bed', 'head-press', 'log-roll', 'into-bed'],
      'place 4, sitting on the edge of the bed; allowed: one of the two, this or “Getting into bed”',
    ],
    [
      'two ways up',
      ['head-press', 'log-roll', 'out-of-bed'],
      'place 3, sitting on the edge of the bed; allowed: one of the two, this or “Log roll to sitting”',
    ],
    [
      'sitting after standing up',
      ['out-of-bed', 'sit-before-standing'],
      'place 2, standing; allowed: one of the two, this or “Getting out of bed”',
    ],
    [
      'an exercise after getting up',
      ['into-bed', 'out-of-bed', 'head-press'],
      'place 3, standing; allowed: a place before “Getting out of bed”, at most place 2',
    ],
    [
      'a way down when down already',
      ['head-press', 'into-bed'],
      'place 2, lying on the back; allowed: place 1',
    ],
  ])('is not: %s', (_, ids, expected) => {
    expect(wrong(...ids)).toEqual([expected]);
  });

  it('that is possible leads down at most once, and never after somebody got up', () => {
    const leading = all.filter(({ path: { to } }) => to !== undefined);
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...leading, ...all.slice(0, 4)), { maxLength: 6 }), (list) => {
        fc.pre(pathProblems(list).length === 0);
        let hasRisen = false;
        let descents = 0;
        for (const { path } of list) {
          const rise = heightOf[path.to?.position ?? path.from.position] - heightOf[path.from.position];
          expect(hasRisen && heightOf[path.from.position] === 0).toBe(false);
          expect(hasRisen && rise < 0).toBe(false);
          if (rise > 0) hasRisen = true;
          if (rise < 0) descents += 1;
        }
        expect(descents).toBeLessThanOrEqual(1);
      }),
      { numRuns: 2_000 },
    );
  });

  it('that is not is told where the exercise can stand: there it leaves fewer faults', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...all), { maxLength: 7 }), (list) => {
        const problems = pathProblems(list);
        for (const { path, allowed } of problems) {
          const place = /place (\d+)$/.exec(String(allowed))?.[1];
          if (place === undefined) continue;
          const from = Number(/\d+/.exec(String(path))?.[0]);
          const [moved] = list.slice(from, from + 1);
          if (moved === undefined) expect.unreachable('it is in the list');
          const others = list.toSpliced(from, 1);
          const at = pathProblems(others.toSpliced(Number(place) - 1, 0, moved));
          expect(at.length).toBeLessThan(problems.length);
        }
      }),
      { numRuns: 1_000 },
    );
  });
});
