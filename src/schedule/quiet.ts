import { addDays, isoDayIn, startOfDayMs } from './wallClock.js';

const daysLookedBack = 28;

/**
 * Since when someone has begun nothing, once that has been so for too many days with sessions in a row; else null. A
 * day in a break is no such day, and one on which a session was put off was answered.
 *
 * @param slotsOn how many sessions a day has
 * @param answeredDays days on which something was begun or put off
 * @param sinceMs what lies before is not counted: the program began to hold then
 * @param freeDays days of a week that the listener may leave free
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
