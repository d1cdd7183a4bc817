import { isWholeSession, type Listened } from '../listening/listened.js';
import { mondayOf, timeOfDayIn } from '../schedule/wallClock.js';
import { groupedBy } from './groupedBy.js';
import type { Outcome, ProgramHistory } from './history.js';
import { exerciseEndMsOf } from './times.js';
import { type Share, shareOf } from './wilson.js';

/**
 * How many sessions were done of those that were wanted. Excused ones, days of rest among them, count neither way;
 * what was begun counts as not done and is shown apart; practice beyond the plan is counted by itself.
 */
export type Tally = {
  done: number;
  /** Of those done, how many in an easier form that the listener chose. */
  easier: number;
  partly: number;
  missed: number;
  excused: number;
  /** Of those excused, how many were put off in pain or unwell. */
  unwell: number;
  /** Done, partly and missed together. */
  wanted: number;
  /** Done or begun although nothing was planned. */
  beyond: number;
  /** Done of those wanted, with its 95 % interval; null when nothing was wanted. */
  share: Share | null;
};

export function tallyOf(outcomes: readonly Outcome[]): Tally {
  const planned = outcomes.filter(({ isPlanned }) => isPlanned);
  const count = (kind: Outcome['kind']) => planned.filter((outcome) => outcome.kind === kind).length;
  const [done, partly, missed, excused] = [count('done'), count('partly'), count('missed'), count('excused')];
  const wanted = done + partly + missed;
  const beyond = outcomes.filter(({ isPlanned, kind }) => !isPlanned && kind !== 'excused').length;
  const easier = planned.filter((outcome) => outcome.kind === 'done' && wasEasier(outcome)).length;
  const unwell = planned.filter(({ kind, excuse }) => kind === 'excused' && excuse === 'unwell').length;
  return { done, easier, partly, missed, excused, unwell, wanted, beyond, share: shareOf(done, wanted) };
}

/** Whether all that was heard of a session was a shorter or lighter one. */
function wasEasier({ listened }: Outcome): boolean {
  return listened.length > 0 && !listened.some(isWholeSession);
}

/** The outcomes of each day, `YYYY-MM-DD`, oldest first; days without any are not there. */
export function byDay(outcomes: readonly Outcome[]): [day: string, outcomes: Outcome[]][] {
  return [...groupedBy(outcomes, ({ day }) => day)].sort(byKey);
}

/** The tally of each week by its Monday, oldest first. */
export function byWeek(outcomes: readonly Outcome[]): { monday: string; tally: Tally }[] {
  const weeks = [...groupedBy(outcomes, ({ day }) => mondayOf(day))].sort(byKey);
  return weeks.map(([monday, own]) => ({ monday, tally: tallyOf(own) }));
}

/** When a session is due: before noon, before five, or later. Our choice; no source. */
export const partsOfDay = ['morning', 'afternoon', 'evening'] as const;
export type PartOfDay = (typeof partsOfDay)[number];

/** The tally of each part of a day that has sessions, by when they were due. */
export function byPartOfDay(outcomes: readonly Outcome[], zone: string): { part: PartOfDay; tally: Tally }[] {
  const parts = groupedBy(outcomes, ({ dueAtMs }) => partOf(timeOfDayIn(dueAtMs, zone)));
  return partsOfDay.flatMap((part) => {
    const own = parts.get(part);
    return own === undefined ? [] : [{ part, tally: tallyOf(own) }];
  });
}

function partOf(time: string): PartOfDay {
  if (time < '12:00') return 'morning';
  return time < '17:00' ? 'afternoon' : 'evening';
}

export type ExerciseReached = {
  exerciseId: string;
  name: string;
  /** Sessions with it that were wanted, and in how many of them it was heard to its end. */
  wanted: number;
  reached: number;
  share: Share | null;
};

/** Reports come every few seconds; the last of an exercise is often told a little before its end. Our choice. */
const reachSlackMs = 5_000;

/**
 * How often each exercise was heard to its end, in the order in which the newest version has them, then those that
 * are no longer in it. Versions whose exercises are not known any longer count for none.
 */
export function byExercise({ versions }: ProgramHistory, outcomes: readonly Outcome[]): ExerciseReached[] {
  const found = new Map<string, { name: string; wanted: number; reached: number }>();
  for (const version of [...versions].sort((a, b) => b.number - a.number)) {
    const own = outcomes.filter(
      ({ versionNumber, isPlanned, kind }) =>
        versionNumber === version.number && isPlanned && kind !== 'excused',
    );
    for (const [index, { exercise }] of (version.exercises ?? []).entries()) {
      const before = found.get(exercise.id) ?? { name: exercise.name, wanted: 0, reached: 0 };
      const endMsOf = (listened: Listened) => exerciseEndMsOf(version, index, listened);
      const reached = own.filter((outcome) => hasReached(outcome, endMsOf)).length;
      found.set(exercise.id, {
        name: before.name,
        wanted: before.wanted + own.length,
        reached: before.reached + reached,
      });
    }
  }
  return [...found].map(([exerciseId, each]) => ({
    exerciseId,
    ...each,
    share: shareOf(each.reached, each.wanted),
  }));
}

/** What was done with another player, of which nothing is heard here, was reported as all of it. */
function hasReached({ kind, listened }: Outcome, endMsOf: (listened: Listened) => number): boolean {
  if (listened.length === 0) return kind === 'done';
  return listened.some(
    (each) => each.finishedAtMs !== null || each.reachedMs >= endMsOf(each) - reachSlackMs,
  );
}

function byKey([a]: [string, unknown], [b]: [string, unknown]): number {
  return a < b ? -1 : 1;
}
