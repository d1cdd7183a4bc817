import { addDays, isoDayIn, startOfDayMs } from './wallClock.js';

const daysLookedBack = 28;

/**
 * Returns since when a patient has started no session, once that lasts for too many days with sessions in a row;
 * otherwise null. Days in a break do not count, and a day on which a session was postponed counts as answered.
 *
 * @param slotsOn returns how many sessions a day has
 * @param answeredDays days on which a session was started or postponed
 * @param sinceMs when the program took effect; earlier days do not count
 * @param freeDays how many days of a week the listener may leave free
 */
export function quietSince({
  slotsOn,
  answeredDays,
  afterDays,
  freeDays,
  sinceMs,
  nowMs,
  zone,
}: {
  slotsOn: (day: string) => number;
  answeredDays: ReadonlySet<string>;
  afterDays: number;
  freeDays: number;
  sinceMs: number;
  nowMs: number;
  zone: string;
}): number | null {
  const today = isoDayIn(nowMs, zone);
  if (answeredDays.has(today)) return null;
  let firstQuiet: string | null = null;
  let days = 0;
  for (let back = 1; back <= daysLookedBack; back += 1) {
    const day = addDays(today, -back);
    if (startOfDayMs(day, zone) < sinceMs || answeredDays.has(day)) break;
    if (slotsOn(day) === 0) continue;
    days += 1;
    firstQuiet = day;
  }
  return firstQuiet !== null && days >= afterDays + freeDays ? startOfDayMs(firstQuiet, zone) : null;
}
