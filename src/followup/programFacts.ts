import { isoDayIn } from '../schedule/wallClock.js';
import { dayMs } from '../time/units.js';
import type { AdviceReason, Condition } from './adviceParts.js';
import type { PainChange } from './course.js';
import type { Outcome, ProgramHistory } from './history.js';
import type { ProgramNumbers } from './progression.js';
import type { SessionReport, SignGiven } from './reports.js';
import { shareOf } from './wilson.js';

/** What the rules read of one program, worked out once. */
export type ProgramFacts = {
  program: ProgramHistory;
  /** Of all programs of the patient. */
  signs: readonly SignGiven[];
  reports: readonly SessionReport[];
  /** What was told of the patient's other programs: one body bears them all. */
  others: readonly { prescriptionId: string; reports: readonly SessionReport[] }[];
  /** The outcomes of the days over which it is counted what was done. */
  recent: readonly Outcome[];
  /** The day that it is for the patient, counted from 1970. */
  today: number;
  zone: string;
  /** How the person's pain before sessions went; null as long as there are too few answers. */
  pain: PainChange | null;
};

/** `mark` is what the review is about: a new sign makes a new review, whatever was answered before. */
export type Check = { why: AdviceReason; mark: string; condition: Condition };

/** An ISO day counted from 1970, so that days can be subtracted. */
export function dayNumber(day: string): number {
  return Date.parse(day) / dayMs;
}

/** The ISO day a number of days before today. Days are compared as text: a year of sessions has many. */
export function dayBack(today: number, days: number): string {
  return new Date((today - days) * dayMs).toISOString().slice(0, 10);
}

/**
 * The first day of the present stretch of so many days, ISO: what lasts is asked again as each stretch begins. A whole
 * number of weeks begins on a Monday.
 */
export function stretchOf(today: number, days: number): string {
  const firstMonday = 4;
  return dayBack(today, (today - firstMonday) % days);
}

export function dayNumberAt(atMs: number, zone: string): number {
  return dayNumber(isoDayIn(atMs, zone));
}

/** The outcomes of the days over which it is counted what was done, in any order. */
export function recentOutcomes(
  { outcomes }: ProgramHistory,
  today: number,
  numbers: ProgramNumbers,
): Outcome[] {
  const from = dayBack(today, numbers.shareDays.value);
  return outcomes.filter(({ day }) => day >= from);
}

/**
 * How much of what was wanted was done, lately.
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
