import type { Occurrence } from '../schedule/calendar.js';
import { mondayOf } from '../schedule/wallClock.js';
import type { Outcome } from './history.js';

/**
 * Distinguishes missed days from free ones if a program asks for fewer days a week than it offers. The days on which
 * something was done or started count first. Of the days still required, those that can no longer be made up count as
 * missed, latest first; the others were free. On a chosen day, all of its sessions are required.
 *
 * @param occurrences including those of the coming days, which can still be chosen
 * @param today in the patient's zone
 */
export function withFreeDays(
  outcomes: readonly Outcome[],
  occurrences: readonly Occurrence[],
  today: string,
): Outcome[] {
  const free = new Set(
    weeksToChoose(occurrences).flatMap((week) =>
      freeDaysOf(
        outcomes.filter(({ day }) => mondayOf(day) === week.monday),
        week,
        today,
      ),
    ),
  );
  return outcomes.map((outcome) =>
    outcome.kind === 'missed' && free.has(outcome.day)
      ? { ...outcome, kind: 'excused', excuse: 'free-day' }
      : outcome,
  );
}

type Week = {
  monday: string;
  /** The number of days on which it is to be done, from the last plan of the week. */
  wantedDays: number;
  /** The days offered, in order. */
  days: readonly string[];
};

function weeksToChoose(occurrences: readonly Occurrence[]): Week[] {
  const weeks = new Map<string, { wantedDays: number; days: Set<string> }>();
  const standing = occurrences.filter(({ isCancelled }) => !isCancelled);
  for (const { day, daysToChoose } of [...standing].sort((a, b) => a.startsAtMs - b.startsAtMs)) {
    if (daysToChoose === null) continue;
    const monday = mondayOf(day);
    const week = weeks.get(monday) ?? { wantedDays: 0, days: new Set<string>() };
    weeks.set(monday, { wantedDays: daysToChoose, days: week.days.add(day) });
  }
  return [...weeks].map(([monday, { wantedDays, days }]) => ({ monday, wantedDays, days: [...days].sort() }));
}

function freeDaysOf(outcomes: readonly Outcome[], { wantedDays, days }: Week, today: string): string[] {
  const chosen = new Set(
    outcomes.filter(({ kind }) => kind === 'done' || kind === 'partly').map(({ day }) => day),
  );
  const missed = new Set(outcomes.filter(({ kind }) => kind === 'missed').map(({ day }) => day));
  const passed = days.filter((day) => !chosen.has(day) && missed.has(day));
  const decided = new Set(outcomes.map(({ day }) => day));
  const toCome = days.filter((day) => day >= today && !decided.has(day));
  const tooLate = Math.max(0, wantedDays - chosen.size - toCome.length);
  return passed.slice(0, Math.max(0, passed.length - tooLate));
}
