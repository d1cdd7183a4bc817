import { beforeAll, describe, expect, it } from 'vitest';
import type { ScreeningAnswers } from '../../src/screening/answers.js';
import { findingsOf, type Loaded, lyingDownAndGettingUp } from '../../src/screening/findings.js';
import type { Interview } from '../../src/screening/interview.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readClinicWords.js';
import { histories as conditions, type Decision, type History, judged } from './histories.js';
import { visitHistories } from './visitHistories.js';

const histories: readonly History[] = [...conditions, ...visitHistories];

/** From what lets most through to what lets nothing through. */
const decisions = ['nothing', 'change', 'clearance', 'leave-out', 'stop'] as const;
type Brought = (typeof decisions)[number];
const strength = (decision: Brought) => decisions.indexOf(decision);

let interview: Interview;
let exercises: Map<string, Loaded>;
beforeAll(async () => {
  const catalogues = await readCatalogues('audio-templates');
  interview = await readInterview('audio-templates', catalogues);
  exercises = new Map<string, Loaded>(catalogues.get('en')?.exercises);
  exercises.set(lyingDownAndGettingUp.id, lyingDownAndGettingUp);
});

function answersOf({ yes, unsure = [] }: History): ScreeningAnswers {
  const answer = (id: string) =>
    yes.includes(id) ? ('yes' as const) : unsure.includes(id) ? ('unsure' as const) : ('no' as const);
  return Object.fromEntries(
    interview.precautions.map(({ id }) => [id, { answer: answer(id), details: '' }] as const),
  );
}

/** What the answers of a history bring for one exercise. */
function broughtFor(history: History, exercise: Loaded): Brought {
  const [strictest] = findingsOf(answersOf(history), [exercise], interview);
  if (strictest === undefined) return 'nothing';
  return strictest.rule.stop ? 'stop' : strictest.rule.measure;
}

/** The strictest decision that the history asks for about an exercise, or nothing. */
function askedFor({ held }: History, exerciseId: string): Decision | 'nothing' {
  const asked = held.filter(([, on]) => on === 'everything' || on.includes(exerciseId));
  return asked.reduce<Decision | 'nothing'>(
    (strictest, [decision]) => (strength(decision) > strength(strictest) ? decision : strictest),
    'nothing',
  );
}

const mayBeHeld = ({ allowed }: History, exerciseId: string) =>
  allowed === 'everything' || (allowed?.includes(exerciseId) ?? false);

describe('the histories', () => {
  it('are at least 80, answer questions that there are, and name exercises that there are', () => {
    expect(histories.length).toBeGreaterThanOrEqual(80);
    expect(new Set(histories.map(({ name }) => name)).size).toBe(histories.length);
    const known = new Set(interview.precautions.map(({ id }) => id));
    for (const { name, yes, unsure = [], held, allowed = [], source } of histories) {
      for (const id of [...yes, ...unsure]) expect(known, `${name}: ${id}`).toContain(id);
      const named = [...held.map(([, on]) => on), allowed].flatMap((on) => (on === 'everything' ? [] : on));
      for (const id of named) expect([...exercises.keys()], `${name}: ${id}`).toContain(id);
      expect(source, name).toMatch(/\w{3}/);
    }
  });

  it('let nothing through that a careful therapist holds back', () => {
    const letThrough = histories.flatMap((history) =>
      [...exercises.values()].flatMap((exercise) => {
        const asked = askedFor(history, exercise.id);
        const brought = broughtFor(history, exercise);
        return strength(brought) < strength(asked)
          ? [`${history.name}, ${exercise.id}: ${brought} instead of ${asked}`]
          : [];
      }),
    );
    expect(letThrough).toEqual([]);
  });

  it('hold back needlessly less than 5 % of what may be done', () => {
    const free = histories.flatMap((history) =>
      [...exercises.values()]
        .filter(({ id }) => judged.has(id) && !mayBeHeld(history, id))
        .filter(({ id }) => ['nothing', 'change'].includes(askedFor(history, id)))
        .map((exercise) => ({ history, exercise, brought: broughtFor(history, exercise) })),
    );
    const needless = free.filter(({ brought }) => strength(brought) > strength('change'));
    const shown = needless.map(({ history, exercise }) => `${history.name}: ${exercise.id}`);
    expect(needless.length / free.length, shown.join('\n')).toBeLessThan(0.05);
    const people = new Set(needless.map(({ history }) => history.name));
    expect(people.size / histories.length, [...people].join(', ')).toBeLessThan(0.05);
    expect(free.length, 'there is something to hold back needlessly').toBeGreaterThan(1000);
  });

  it('of people who are well, or a little unwell, change nothing or little', () => {
    const well = histories.filter(({ held }) => held.length === 0);
    expect(well.length).toBeGreaterThan(8);
    for (const history of well) {
      for (const exercise of [...exercises.values()].filter(({ id }) => judged.has(id)))
        expect(broughtFor(history, exercise), `${history.name}: ${exercise.id}`).toBe('nothing');
    }
  });

  it('use every question that there is', () => {
    const used = new Set(histories.flatMap(({ yes, unsure = [] }) => [...yes, ...unsure]));
    const unused = interview.precautions.map(({ id }) => id).filter((id) => !used.has(id));
    expect(unused).toEqual([]);
  });
});
