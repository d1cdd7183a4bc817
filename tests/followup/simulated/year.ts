import { adviceFor } from '../../../src/followup/advice.js';
import type { AdviceKind, ExerciseAdvice, ProgramAdvice } from '../../../src/followup/adviceParts.js';
import type { Outcome, VersionHistory, WarningGiven } from '../../../src/followup/history.js';
import type { Progression } from '../../../src/followup/progression.js';
import { type Entry, history, missed, morningOf, noonOf, session, version } from '../histories.js';
import type { Behaviour, Expected } from './behaviours.js';

/** One morning on which the clinician looked. */
export type Look = {
  person: number;
  behaviour: string;
  day: number;
  said: AdviceKind;
  why: string;
  expected: Expected;
};
export type Year = { looks: Look[]; stepsUp: number; stepsDown: number };

const entries: readonly Entry[] = [
  { exercise: 'head-press', dose: { reps: 8 } },
  { exercise: 'ankle-pumps', dose: { reps: 15 } },
  { exercise: 'rest-arms-open' },
];
const daysOfYear = 365;
const looksEvery = 7;

/**
 * A year of one made-up person: every evening what the behavior does, every seventh morning a clinician who looks,
 * accepts what she is advised, answers signs when the behavior says, and signs anew when a sign asks for it.
 */
export function playYear(behaviour: Behaviour, person: number, progression: Progression): Year {
  const outcomes: Outcome[] = [];
  const versions: VersionHistory[] = [signedOn(0, 1, entries)];
  const warnings: WarningGiven[] = [];
  const year: Year = { looks: [], stepsUp: 0, stepsDown: 0 };
  let [now, newestSignedOn] = [entries, 0];

  const sign = (day: number, next: readonly Entry[]) => {
    versions.push(signedOn(day, versions.length + 1, next));
    [now, newestSignedOn] = [next, day];
  };
  for (let day = 0; day < daysOfYear; day += 1) {
    answerSigns(warnings, day, behaviour.answersSignAfter);
    if (day > 0 && day % looksEvery === 0) {
      const [advice] = adviceFor(history(day, { outcomes, versions, warnings }), progression);
      if (advice === undefined) throw new RangeError('one program runs');
      const { kind: said, why } = advice.whole;
      const expected = behaviour.expected(day, newestSignedOn);
      year.looks.push({ person, behaviour: behaviour.name, day, said, why, expected });
      const step = acceptable(advice);
      if (step !== undefined) {
        if (step.kind === 'step-up') year.stepsUp += 1;
        else year.stepsDown += 1;
        sign(day, withStep(now, step));
      } else if (why === 'sign-since') sign(day, now);
    }
    const evening = behaviour.evening(day, year.stepsUp - year.stepsDown);
    const more = { versionNumber: versions.length };
    if (evening.did === 'nothing') outcomes.push(missed(day, more));
    else if (evening.did === 'put-off') {
      outcomes.push(missed(day, { ...more, kind: 'excused', excuse: 'unwell', putOff: 'pain' }));
    } else {
      const done = session(day, evening.answers, more);
      outcomes.push(done);
      const signs = evening.answers?.signs ?? [];
      const atMs = done.checkIns[0]?.atMs ?? done.dueAtMs;
      if (evening.hasSign) warnings.push({ atMs, versionNumber: versions.length, signs, answeredAtMs: null });
    }
  }
  return year;
}

function signedOn(day: number, number: number, next: readonly Entry[]): VersionHistory {
  return { ...version(number, day, next), signedAtMs: morningOf(day) };
}

/** At noon of the day, a little after she may have looked. */
function answerSigns(warnings: WarningGiven[], day: number, afterDays: number): void {
  for (const [index, warning] of warnings.entries()) {
    const answerAtMs = noonOf(day - 1);
    if (warning.answeredAtMs === null && answerAtMs - warning.atMs > (afterDays - 1) * 24 * 60 * 60_000) {
      warnings[index] = { ...warning, answeredAtMs: answerAtMs };
    }
  }
}

function acceptable({ exercises }: ProgramAdvice): ExerciseAdvice | undefined {
  return (
    exercises.find(({ kind }) => kind === 'step-down') ?? exercises.find(({ kind }) => kind === 'step-up')
  );
}

function withStep(now: readonly Entry[], { exerciseIndex, to }: ExerciseAdvice): Entry[] {
  return now.map((entry, index) => (index === exerciseIndex ? { ...entry, dose: { ...to } } : entry));
}
