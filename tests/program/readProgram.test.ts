import { beforeAll, describe, expect, it } from 'vitest';
import type { Catalogue } from '../../src/catalogue/catalogue.js';
import { type Problem, StillcountError } from '../../src/errors/stillcountError.js';
import { readProgram } from '../../src/program/readProgram.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

let catalogues: ReadonlyMap<string, Catalogue>;

beforeAll(async () => {
  catalogues = await readCatalogues('audio-templates');
});

const good = `format: stillcount-program/1
title: Morning
exercises:
  - exercise: head-press
    dose: { reps: 4, holdSeconds: 6 }
  - exercise: arm-reach
    side: alternate
`;

function read(text: string) {
  return readProgram(text, 'morning.yaml', catalogues);
}

function problemsOf(text: string): readonly Problem[] {
  try {
    read(text);
  } catch (error) {
    if (error instanceof StillcountError && error.kind === 'input') return error.problems;
    throw error;
  }
  throw new Error('the program was accepted');
}

describe('a program file', () => {
  it('takes the dose of the catalogue where it says nothing', () => {
    const [headPress, armReach] = read(good).exercises;
    expect(headPress?.dose).toEqual({ sets: 1, reps: 4, holdSeconds: 6, restSeconds: 5, setRestSeconds: 30 });
    expect(headPress?.side).toBeNull();
    expect(armReach?.side).toBe('alternate');
  });

  const wrong: [string, string, Partial<Record<keyof Problem, unknown>>][] = [
    ['is not YAML', 'title: [', { message: expect.stringContaining('not valid YAML'), line: 1 }],
    ['is empty', '', { allowed: 'a map' }],
    ['is a list', '- 1\n- 2\n', { found: '[1,2]', allowed: 'a map' }],
    [
      'has an unknown key',
      `${good}coatching: full\n`,
      {
        path: 'coatching',
        line: 8,
        hint: 'did you mean coaching?',
        allowed: expect.stringContaining('coaching'),
      },
    ],
    [
      'has an unknown key deep inside',
      good.replace('reps: 4', 'rep: 4'),
      { path: 'exercises[0].dose.rep', line: 5, hint: 'did you mean reps?' },
    ],
    [
      'names an unknown exercise',
      good.replace('head-press', 'head-pres'),
      { path: 'exercises[0].exercise', found: '"head-pres"', hint: 'did you mean head-press?' },
    ],
    [
      'asks for more than the limits',
      good.replace('reps: 4', 'reps: 10000'),
      { path: 'exercises[0].dose.reps', found: '10000', allowed: '3 to 12' },
    ],
    [
      'asks for a dose that the exercise does not have',
      good.replace('reps: 4', 'liftSeconds: 4'),
      {
        path: 'exercises[0].dose.liftSeconds',
        allowed: 'sets, reps, holdSeconds, restSeconds, setRestSeconds',
      },
    ],
    [
      'has a negative rest',
      good.replace('reps: 4', 'restSeconds: -3'),
      { path: 'exercises[0].dose.restSeconds', found: '-3', allowed: 'at least 0' },
    ],
    [
      'has a number as text',
      good.replace('reps: 4', 'reps: "four"'),
      { path: 'exercises[0].dose.reps', found: '"four"', allowed: 'a number' },
    ],
    [
      'has no exercise',
      good.replace(/exercises:[\s\S]*/, 'exercises: []\n'),
      { path: 'exercises', found: '[]' },
    ],
    [
      'gives a side to an exercise that has none',
      good.replace('    dose: {', '    side: left\n    dose: {'),
      { path: 'exercises[0].side', found: 'left', allowed: 'no side' },
    ],
    [
      'leaves a section of a note open',
      good.replace('side: alternate', 'note: "{{#name}}Slowly."'),
      { path: 'exercises[1].note', message: expect.stringContaining('Unclosed section') },
    ],
    [
      'has a note that a voice cannot say',
      good.replace('side: alternate', 'note: "Slowly \u{1F600}"'),
      { path: 'exercises[1].note', found: expect.stringContaining('\u{1F600}') },
    ],
    [
      'has a name without letters',
      `${good}listener: { name: "..." }\n`,
      { path: 'listener.name', found: '"..."' },
    ],
    ['is written twice', `${good}title: Evening\n`, { message: expect.stringContaining('unique'), line: 8 }],
    [
      'is in a language without words',
      `${good}language: xx\n`,
      { path: 'language', found: 'xx', allowed: expect.stringContaining('en') },
    ],
    [
      'breathes faster than anyone should',
      `${good}breath: { inSeconds: 0.2 }\n`,
      { path: 'breath.inSeconds', found: '0.2', allowed: 'at least 1' },
    ],
    [
      'respells a number, which would change the dose that is heard',
      `${good}pronunciations: { five: three }\n`,
      { path: 'pronunciations.five', allowed: 'other words' },
    ],
    [
      'deletes a word by respelling it with nothing',
      `${good}pronunciations: { not: " " }\n`,
      { path: 'pronunciations.not' },
    ],
    [
      'asks for part of a second of rest',
      good.replace('reps: 4', 'restSeconds: 3.3'),
      { path: 'exercises[0].dose.restSeconds' },
    ],
    [
      'lies down again in the middle',
      `${good}  - exercise: into-bed\n`,
      { path: 'exercises[2].exercise', found: 'place 3, lying on the back', allowed: 'place 1' },
    ],
    ['hides terminal codes in its voice', `${good}voice: "embedded:slt\\e[31m"\n`, { path: 'voice' }],
    [
      'would last more than a day',
      `${good.replace(/exercises:[\s\S]*/, '')}exercises:\n${'  - { exercise: rest-arms-open, dose: { durationSeconds: 1200 } }\n'.repeat(40)}`,
      { path: 'exercises', found: expect.stringContaining('800 minutes'), allowed: 'at most 120 minutes' },
    ],
    [
      'lying down again by an exercise after getting up',
      `${good.replace(/exercises:[\s\S]*/, '')}exercises:\n  - exercise: log-roll\n  - exercise: into-bed\n`,
      {
        path: 'exercises[1].exercise',
        message:
          '“Getting into bed” starts sitting on the edge of the bed and leads down again, after “Log roll to sitting” has led the listener out of lying',
      },
    ],
  ];

  it.each(wrong)('that %s is refused with place, found and allowed', (_case, text, expected) => {
    const problems = problemsOf(text);
    expect(problems[0]).toMatchObject({ file: 'morning.yaml', ...expected });
  });

  it('that is far too long is refused, with a time budget only when nothing could bring it down', () => {
    const rests = (count: number, budget: string) =>
      `format: stillcount-program/1\ntitle: Long\n${budget}exercises:\n${'  - { exercise: rest-arms-open, dose: { durationSeconds: 1200 } }\n'.repeat(count)}`;
    expect(read(rests(6, '')).exercises).toHaveLength(6);
    expect(problemsOf(rests(7, ''))[0]).toMatchObject({ path: 'exercises', allowed: 'at most 120 minutes' });
    expect(read(rests(12, 'timeBudgetMinutes: 60\n')).exercises).toHaveLength(12);
    const beyond = problemsOf(rests(13, 'timeBudgetMinutes: 60\n'))[0];
    expect(beyond).toMatchObject({ path: 'exercises', allowed: 'at most 240 minutes' });
  });

  it('reports every problem at once', () => {
    const text = good.replace('reps: 4', 'reps: 99').replace('arm-reach', 'arm-rich');
    expect(problemsOf(text).map(({ path }) => path)).toEqual([
      'exercises[0].dose.reps',
      'exercises[1].exercise',
    ]);
  });

  it('with an alias bomb is refused quickly', () => {
    const bomb = `a: &a [x,x,x,x,x,x,x,x,x]\n${'bcdefghij'
      .split('')
      .map((key, index) => `${key}: &${key} [${Array(9).fill(`*${'abcdefghij'[index]}`).join(',')}]`)
      .join('\n')}\n`;
    expect(problemsOf(bomb)[0]).toMatchObject({
      file: 'morning.yaml',
      message: 'this cannot be read as YAML',
    });
  });

  it('nested deeper than anything real is refused', () => {
    expect(problemsOf(`${'['.repeat(20_000)}`)[0]).toMatchObject({ file: 'morning.yaml' });
  });

  it('with thousands of faults is refused in a moment, with the first twenty', () => {
    const keys = Array.from({ length: 8_000 }, (_, index) => `wrong${index}: 1\n`).join('');
    const problems = problemsOf(`${good}${keys}`);
    expect(problems).toHaveLength(20);
    const doses = Array.from(
      { length: 40 },
      () => '  - { exercise: head-press, dose: { a: 1, b: 2, c: 3 } }\n',
    ).join('');
    expect(problemsOf(`${good.replace(/exercises:[\s\S]*/, 'exercises:\n')}${doses}`)).toHaveLength(20);
  });

  it('larger than any program is refused unread', () => {
    expect(problemsOf(`# ${'x'.repeat(200_001)}`)[0]).toMatchObject({ message: 'the file is too large' });
  });
});
