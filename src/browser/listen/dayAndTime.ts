import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import { dayMs } from '../../time/units.js';
import type { Parts } from './parts.js';

/** Fills the named sentence, in its form for that day: "Today at 17:00", "tomorrow at 9:00", "on Friday at 9:00". */
export function dayAndTime(
  { words, times, plans }: Pick<Parts, 'words' | 'times' | 'plans'>,
  person: PlannedPerson,
  session: PlannedSession,
  key: 'next' | 'row-later' | 'bedside-next',
): string {
  const { dueAtMs, title } = session;
  const nowMs = plans.now();
  const [day, weekday] = [times.day(dueAtMs, person), times.weekday(dueAtMs, person)];
  const values = { name: person.spokenName, title, time: times.time(dueAtMs, person), day: weekday };
  if (day === times.day(nowMs, person)) return words.say(`${key}-today`, values);
  if (day === times.day(nowMs + dayMs, person)) return words.say(`${key}-tomorrow`, values);
  return words.say(`${key}-day`, values);
}
