import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { subjects } from '../../scripts/safetyCase/cases.js';
import { Planter, withFault } from '../../scripts/safetyCase/plant.js';
import type { Fault, Subject } from '../../scripts/safetyCase/rule.js';
import { staleCases } from '../../scripts/safetyCase/stale.js';

const root = process.cwd();
const [subject] = subjects;
const [rule] = subject?.rules ?? [];
const [fault] = rule?.faults ?? [];
if (subject === undefined || rule === undefined || fault === undefined)
  throw new RangeError('there are rules');

/** The case with one rule changed. */
const withRule = (change: Partial<typeof rule>): Subject[] =>
  subjects.map((each) =>
    each === subject ? { ...each, rules: [{ ...rule, ...change }, ...each.rules.slice(1)] } : each,
  );

describe('the safety case', () => {
  it('agrees with the code: ids, fragments and tests stand where it says', () => {
    expect(staleCases(root, subjects)).toEqual([]);
  });

  it('has several faults of every subject', () => {
    for (const { name, rules } of subjects) {
      expect(rules.flatMap(({ faults }) => faults).length, name).toBeGreaterThanOrEqual(5);
    }
  });

  it.each<[string, Subject[], string]>([
    ['an id that is in no code', withRule({ id: 'SCREEN-999' }), 'stands 0 times in src'],
    ['an id of the code that it lacks', withRule({ id: 'SCREEN-999' }), 'is not in the case'],
    ['an id that stands twice', [...subjects, subject], 'stands twice in the case'],
    ['no fault', withRule({ faults: [] }), 'has no fault'],
    ['no test', withRule({ tests: [] }), 'has no test'],
    ['a fragment that is gone', withRule({ faults: [{ ...fault, fragment: 'not there' }] }), '0 times'],
    ['a fragment that is not alone', withRule({ faults: [{ ...fault, fragment: 'const' }] }), 'not once'],
    [
      'a fault that is none',
      withRule({ faults: [{ ...fault, planted: fault.fragment }] }),
      'changes nothing',
    ],
    [
      'a file that is gone',
      withRule({ faults: [{ ...fault, file: 'src/gone.ts' }] }),
      'there is no src/gone.ts',
    ],
    ['a test that is gone', withRule({ tests: [{ file: 'tests/gone.test.ts' }] }), 'there is no tests/gone'],
    [
      'a test by another name',
      withRule({ tests: [{ file: 'tests/scripts/safetyCase.test.ts', name: 'no such ' + 'test' }] }),
      'no test of',
    ],
  ])('is stale with %s', (_, changed, said) => {
    expect(staleCases(root, changed).join('\n')).toContain(said);
  });
});

describe('a planted fault', () => {
  const about = (fragment: string, planted: string): Fault => ({
    ...{ what: 'wrong', file: 'src/a.ts', fragment, planted },
  });

  it('takes the place of its fragment, and of nothing else', () => {
    expect(withFault('a < b; c', about('a < b', 'a <= b'))).toBe('a <= b; c');
    fc.assert(
      fc.property(fc.string(), fc.string(), fc.string(), (before, after, planted) => {
        fc.pre(!`${before}${after}`.includes('§'));
        expect(withFault(`${before}§${after}`, about('§', planted))).toBe(`${before}${planted}${after}`);
      }),
    );
  });

  it('is refused where its fragment is gone, or stands there twice', () => {
    expect(() => withFault('a', about('b', 'c'))).toThrow('0 times');
    expect(() => withFault('b b', about('b', 'c'))).toThrow('2 times');
    expect(() => withFault('', about('', 'c'))).toThrow('0 times');
  });

  it('reaches its own file, as long as it is planted', () => {
    const planter = new Planter('/house');
    expect(planter.plugin.transform('a', '/house/src/a.ts')).toBeNull();
    planter.fault = about('a', 'b');
    expect(planter.plugin.transform('a', '/house/src/a.ts')).toBe('b');
    expect(planter.plugin.transform('a', '/house/src/a.ts?v=1')).toBe('b');
    expect(planter.plugin.transform('a', '/house/src/other.ts')).toBeNull();
    planter.fault = null;
    expect(planter.plugin.transform('a', '/house/src/a.ts')).toBeNull();
  });
});
