import { isoDayIn } from '../schedule/wallClock.js';
import { dayMs } from '../time/units.js';
import type { AdviceReason, Condition } from './adviceParts.js';
import type { PainChange } from './course.js';
import type { Outcome, ProgramHistory } from './history.js';
import type { ProgramNumbers } from './progression.js';
import type { SessionReport, SignGiven } from './reports.js';
import { shareOf } from './wilson.js';

/** The facts about one program that the rules use, computed once. */
export type ProgramFacts = {
  program: ProgramHistory;
  /** For all of the patient's programs. */
  signs: readonly SignGiven[];
  reports: readonly SessionReport[];
  /** What was reported about the patient's other programs: one body bears them all. */
  others: readonly { prescriptionId: string; reports: readonly SessionReport[] }[];
  /** The outcomes of the days in the adherence period. */
  recent: readonly Outcome[];
  /** The patient's current day, counted from 1970. */
  today: number;
  zone: string;
  /** The change in pain before sessions; null while there are too few answers. */
  pain: PainChange | null;
};

/** `mark` is what the review is about: a new sign causes a new review, whatever was answered before. */
export type Check = { why: AdviceReason; mark: string; condition: Condition };

/** An ISO day counted from 1970, so that days can be subtracted. */
export function dayNumber(day: string): number {
  return Date.parse(day) / dayMs;
}

/** The ISO day a number of days before today. Days are compared as text, because a year of sessions has many. */
export function dayBack(today: number, days: number): string {
  return new Date((today - days) * dayMs).toISOString().slice(0, 10);
}

/**
 * The first day of the current period of that many days, ISO: what persists is brought up again at the start of each
 * period. A whole number of weeks starts on a Monday.
 */
export function stretchOf(today: number, days: number): string {
  const firstMonday = 4;
  return dayBack(today, (today - firstMonday) % days);
}

export function dayNumberAt(atMs: number, zone: string): number {
  return dayNumber(isoDayIn(atMs, zone));
}

/** The outcomes of the days in the adherence period, in any order. */
export function recentOutcomes(
  { outcomes }: ProgramHistory,
  today: number,
  numbers: ProgramNumbers,
): Outcome[] {
  const from = dayBack(today, numbers.shareDays.value);
  return outcomes.filter(({ day }) => day >= from);
}

/**
 * The share of scheduled sessions done recently.
 *
 * @param sinceVersion only sessions of this version and later ones
 */
export function shareDone({ recent: lately }: ProgramFacts, sinceVersion = 0) {
  let [done, of] = [0, 0];
  for (const { isPlanned, kind, versionNumber } of lately) {
    if (!isPlanned || kind === 'excused' || versionNumber < sinceVersion) continue;
    of += 1;
    if (kind === 'done') done += 1;
  }
  return { of, share: shareOf(done, of) };
}
