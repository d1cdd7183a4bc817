import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addTallies, failureLines, tallyVitest } from '../../scripts/test/failures.js';

/** The shape in which vitest 4.1.12 wrote its report of files that were made to fail. */
function reportOf(...testResults: object[]) {
  return {
    numPassedTests: 1,
    numFailedTests: JSON.stringify(testResults).split('"status":"failed","title"').length - 1,
    numPendingTests: 1,
    numTodoTests: 0,
    testResults,
  };
}
const passes = { fullName: 'a d', status: 'passed', title: 'd', failureMessages: [] };
const skips = { fullName: 'a e', status: 'skipped', title: 'e', failureMessages: [] };
const fails = {
  fullName: 'a b',
  status: 'failed',
  title: 'b',
  failureMessages: [
    'AssertionError: expected { a: 1 } to deeply equal { a: 2 }\n' +
      '    at file:///w/node_modules/@vitest/runner/dist/chunk-artifact.js:302:11\n' +
      '    at /w/tests/a.test.ts:2:54\n    at new Promise (<anonymous>)',
  ],
};
const fileOf = (name: string, status: string, tests: object[], message = '') => ({
  name: `/w/tests/${name}`,
  status,
  message,
  assertionResults: tests,
});

describe('what a run of vitest leaves to count', () => {
  it('is every failed test by file, name and message', () => {
    const report = reportOf(fileOf('a.test.ts', 'failed', [passes, fails, skips]));
    const { passed, skipped, failures } = tallyVitest('rooms', report, 1, '/w');
    expect({ passed, skipped }).toEqual({ passed: 1, skipped: 1 });
    expect(failureLines(failures)).toEqual([
      '✗ tests/a.test.ts > a b',
      '    AssertionError: expected { a: 1 } to deeply equal { a: 2 }',
      '    at /w/tests/a.test.ts:2:54',
    ]);
  });

  it('is a file whose hook failed, though all its tests count as skipped, and one that cannot be loaded', () => {
    const report = reportOf(
      fileOf('hook.test.ts', 'failed', [skips]),
      fileOf('import.test.ts', 'failed', [], "Cannot find module './nope.js'"),
      fileOf('a.test.ts', 'failed', [fails]),
    );
    const { failures } = tallyVitest('rooms', report, 1, '/w');
    expect(failures.map(({ where, name }) => [where, name])).toEqual([
      ['tests/hook.test.ts', ''],
      ['tests/import.test.ts', ''],
      ['tests/a.test.ts', 'a b'],
    ]);
    expect(failureLines(failures)).toContain("    Cannot find module './nope.js'");
  });

  it('never is nothing where vitest ended badly, or left no report of its kind', () => {
    const allPassed = reportOf(fileOf('a.test.ts', 'passed', [passes]));
    expect(tallyVitest('rooms', allPassed, 0, '/w').failures).toEqual([]);
    const unknownStatus = reportOf(fileOf('a.test.ts', 'passed', [{ ...passes, status: 'retried' }]));
    for (const [report, code] of [
      [allPassed, 1],
      [null, 0],
      [{ numPassedTests: 3 }, 0],
      [unknownStatus, 0],
      [{ ...allPassed, numFailedTests: 1 }, 0],
    ] as const) {
      const { failures } = tallyVitest('rooms', report, code, '/w');
      expect(failures.map(({ where }) => where)).toEqual(['vitest, project rooms']);
    }
  });
});

describe('what is told again at the end of a run', () => {
  const failureArbitrary = fc.record({
    where: fc.constantFrom('Style', 'tests/a.test.ts'),
    name: fc.constantFrom('', 'a b'),
    message: fc.array(fc.constantFrom('said', '    at /w/tests/a.test.ts:1:2', ''), { maxLength: 30 }),
  });

  it('fits the last 60 lines of a log, names every failure that fits, and says how many do not', () => {
    fc.assert(
      fc.property(fc.array(failureArbitrary, { minLength: 1, maxLength: 90 }), (drawn) => {
        const failures = drawn.map((failure) => ({ ...failure, message: failure.message.join('\n') }));
        const lines = failureLines(failures);
        expect(lines.length).toBeLessThanOrEqual(55);
        const named = lines.filter((line) => line.startsWith('✗ ')).length;
        const more = Number(/^and (\d+) more$/.exec(lines.at(-1) ?? '')?.[1] ?? 0);
        expect(named + more).toBe(failures.length);
        expect(named).toBe(failures.length <= 55 ? failures.length : 54);
      }),
    );
  });

  const transcript = (length: number) =>
    Array.from({ length }, (_, index) => `line ${index + 1}`)
      .concat('    at /w/tests/a.test.ts:1:2')
      .join('\n');

  it('has the beginning and the end of a long message, most of all where it is the only one', () => {
    const failure = { where: 'tests/a.test.ts', name: 'a b', message: transcript(100) };
    expect(failureLines([failure, failure]).slice(0, 8)).toEqual([
      '✗ tests/a.test.ts > a b',
      ...['line 1', 'line 2', '...', 'line 98', 'line 99', 'line 100'].map((line) => `    ${line}`),
      '    at /w/tests/a.test.ts:1:2',
    ]);
    const alone = failureLines([failure]);
    expect(alone).toHaveLength(30);
    expect(alone.slice(1, 5)).toEqual(['    line 1', '    line 2', '    ...', '    line 76']);
    expect(alone.slice(-2)).toEqual(['    line 100', '    at /w/tests/a.test.ts:1:2']);
  });

  it('leaves nothing out of a message that fits', () => {
    const fits = { where: 'tests/a.test.ts', name: '', message: transcript(28) };
    expect(failureLines([fits])).toHaveLength(30);
    expect(failureLines([fits])).not.toContain('    ...');
    expect(failureLines([{ ...fits, message: transcript(29) }])).toContain('    ...');
  });

  it('adds up tools and tests', () => {
    const tool = { where: 'Style', name: '', message: 'biome ci . ended with 1' };
    const sum = addTallies([
      { passed: 2, skipped: 1, failures: [] },
      { passed: 0, skipped: 0, failures: [tool] },
    ]);
    expect(sum).toEqual({ passed: 2, skipped: 1, failures: [tool] });
    expect(failureLines(sum.failures)).toEqual(['✗ Style', '    biome ci . ended with 1']);
  });
});
