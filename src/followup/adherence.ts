import { isWholeSession, type Listened } from '../listening/listened.js';
import { mondayOf, timeOfDayIn } from '../schedule/wallClock.js';
import { groupedBy } from './groupedBy.js';
import type { Outcome, ProgramHistory } from './history.js';
import { exerciseEndMsOf } from './times.js';
import { type Share, shareOf } from './wilson.js';

/**
 * How many scheduled sessions were done. Excused ones, rest days among them, do not count either way; started ones
 * count as not done and are shown separately; extra practice is counted separately too.
 */
export type Tally = {
  done: number;
  /** Of those done, how many in an easier form the listener chose. */
  easier: number;
  partly: number;
  missed: number;
  excused: number;
  /** Of those excused, how many were skipped in pain or unwell. */
  unwell: number;
  /** Done, not completed and missed together. */
  wanted: number;
  /** Done or started although nothing was scheduled. */
  beyond: number;
  /** The share of scheduled sessions done, with its 95% interval; null if none were scheduled. */
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

/** Whether all that was heard of a session was a shorter or lighter version. */
function wasEasier({ listened }: Outcome): boolean {
  return listened.length > 0 && !listened.some(isWholeSession);
}

/** The outcomes of each day, `YYYY-MM-DD`, oldest first; days without any are absent. */
export function byDay(outcomes: readonly Outcome[]): [day: string, outcomes: Outcome[]][] {
  return [...groupedBy(outcomes, ({ day }) => day)].sort(byKey);
}

/** The tally of each week by its Monday, oldest first. */
export function byWeek(outcomes: readonly Outcome[]): { monday: string; tally: Tally }[] {
  const weeks = [...groupedBy(outcomes, ({ day }) => mondayOf(day))].sort(byKey);
  return weeks.map(([monday, own]) => ({ monday, tally: tallyOf(own) }));
}

/** The part of the day when a session is due: before noon, before five, or later. Our choice; no source. */
export const partsOfDay = ['morning', 'afternoon', 'evening'] as const;
export type PartOfDay = (typeof partsOfDay)[number];

/** The tally of each part of the day that has sessions, by when they were due. */
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
  /** Scheduled sessions that include it, and how many of them were heard to its end. */
  wanted: number;
  reached: number;
  share: Share | null;
};

/** Reports come every few seconds, so the last one of an exercise often comes a little before its end. Our choice. */
const reachSlackMs = 5_000;

/**
 * How often each exercise was heard to its end, in the order of the newest version, followed by exercises no longer in
 * it. Versions whose exercises are unknown today are left out.
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

/** A session played in another player, of which nothing is heard here, was reported as done in full. */
function hasReached({ kind, listened }: Outcome, endMsOf: (listened: Listened) => number): boolean {
  if (listened.length === 0) return kind === 'done';
  return listened.some(
    (each) => each.finishedAtMs !== null || each.reachedMs >= endMsOf(each) - reachSlackMs,
  );
}

function byKey([a]: [string, unknown], [b]: [string, unknown]): number {
  return a < b ? -1 : 1;
}
