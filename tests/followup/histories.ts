import type {
  CheckInGiven,
  History,
  Outcome,
  ProgramHistory,
  VersionHistory,
} from '../../src/followup/history.js';
import type { Listened } from '../../src/listening/listened.js';
import type { CheckInAnswers } from '../../src/listening/report.js';
import { readProgramValue } from '../../src/program/readProgram.js';
import { addDays, wallClockInstant } from '../../src/schedule/wallClock.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readProgression } from '../../src/session/readClinicWords.js';

/** Histories made up for tests, from the real catalogue and the real rules. */
export const catalogues = await readCatalogues('audio-templates');
export const progression = await readProgression('audio-templates', catalogues);

export const zone = 'Europe/Vienna';
const firstDay = '2026-01-05';
const sessionMs = 15 * 60_000;

/** Exercises as a program names them. */
export type Entry = { exercise: string; dose?: Record<string, number>; side?: string };

/** Kept once worked out: a year of many patients asks for the same days. */
function kept<Value>(work: (day: number) => Value): (day: number) => Value {
  const known = new Map<number, Value>();
  return (day) => {
    const value = known.get(day) ?? work(day);
    known.set(day, value);
    return value;
  };
}

/** The day that is so many days after the first one, and times on it in the patient's zone. */
export const dayOf = kept((day) => addDays(firstDay, day));
export const morningOf = kept((day) => wallClockInstant(dayOf(day), '09:00', zone));
export const noonOf = kept((day) => wallClockInstant(dayOf(day), '12:00', zone));
const eveningOf = kept((day) => wallClockInstant(dayOf(day), '20:00', zone));

const readExercises = new Map<string, NonNullable<VersionHistory['exercises']>>();

function exercisesOf(entries: readonly Entry[]): NonNullable<VersionHistory['exercises']> {
  const text = JSON.stringify(entries);
  const value = { format: 'stillcount-program/1', title: 'Mornings', exercises: entries };
  const exercises = readExercises.get(text) ?? readProgramValue(value, 'a test', catalogues).exercises;
  readExercises.set(text, exercises);
  return exercises;
}

/** A version signed at noon of a day, the first day being 0. */
export function version(number: number, day: number, entries: readonly Entry[]): VersionHistory {
  const exercises = exercisesOf(entries);
  const partMs = sessionMs / exercises.length;
  return {
    number,
    signedAtMs: noonOf(day),
    sessionsAWeek: 7,
    exercises,
    durationMs: sessionMs,
    exerciseEndsMs: exercises.map((_, index) => (index + 1) * partMs),
  };
}

/** A session answered as well as can be. */
export const easy: CheckInAnswers = { done: 'all', painBefore: 2, painAfter: 2, effort: 2, signs: [] };

/** One session of a day, done whole, at eight in the evening. */
export function session(
  day: number,
  answers: CheckInAnswers | null = easy,
  more: Partial<Outcome> = {},
): Outcome {
  const dueAtMs = eveningOf(day);
  const slot = `${dayOf(day)}#1`;
  const versionNumber = more.versionNumber ?? 1;
  const checkIns = answers === null ? [] : [checkIn(`check-in-${day}`, dueAtMs + sessionMs, answers)];
  return {
    ...{ slot, day: dayOf(day), isPlanned: true, dueAtMs, versionNumber },
    ...{ kind: 'done', excuse: null, putOff: null, isContradictory: false, checkIns },
    listened: [listened(slot, dueAtMs, versionNumber)],
    ...more,
  };
}

export function checkIn(id: string, atMs: number, answers: CheckInAnswers): CheckInGiven {
  return { id, atMs, answers, caregiverId: null };
}

export const missed = (day: number, more: Partial<Outcome> = {}): Outcome =>
  session(day, null, { kind: 'missed', listened: [], ...more });

function listened(slot: string, startedAtMs: number, versionNumber: number): Listened {
  return {
    ...{ listeningId: `listening ${slot}`, prescriptionId: 'program', versionNumber, sessionNumber: 1, slot },
    ...{ startedAtMs, lastAtMs: startedAtMs + sessionMs, heardMs: sessionMs, reachedMs: sessionMs },
    ...{
      finishedAtMs: startedAtMs + sessionMs,
      pauseCount: 0,
      pausedMs: 0,
      stoppedAtMs: null,
      caregiverId: null,
      choice: null,
    },
  };
}

/** A patient with one program, looked at in the morning of a day. */
export function history(
  today: number,
  program: Partial<ProgramHistory> = {},
  unreadNotesAtMs: readonly number[] = [],
): History {
  const nowMs = morningOf(today);
  const usual: ProgramHistory = {
    ...{ prescriptionId: 'program', title: 'Mornings', state: 'active', warnings: [], outcomes: [] },
    versions: [version(1, 0, [{ exercise: 'ankle-pumps' }, { exercise: 'heel-press' }])],
  };
  return { zone, nowMs, programs: [{ ...usual, ...program }], unreadNotesAtMs };
}

/** The days from one to before another. */
export function days(from: number, until: number): number[] {
  return Array.from({ length: Math.max(0, until - from) }, (_, index) => from + index);
}
