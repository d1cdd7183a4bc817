import { minuteMs } from '../time/units.js';
import type { Slot } from './slots.js';
import { nextTimeShown, timeOfDayIn } from './wallClock.js';

/** The agreed reminder settings of one patient. */
export type ReminderRules = {
  /** `HH:MM` in the patient's zone: between the two times nothing is sent except warning signs. */
  quietFrom: string;
  quietUntil: string;
  /** How late a delayed reminder may still be sent; it then says that it is late. */
  graceMinutes: number;
  /** How long after its time caregivers are notified that a session was not started; null for never. */
  caregiverAfterMinutes: number | null;
  /** After this many days on which no session was started, the clinician's home page says so. */
  quietAfterDays: number;
};

/** Our choices, no source; the clinician agrees on others with the patient. */
export const usualReminderRules: ReminderRules = {
  quietFrom: '21:00',
  quietUntil: '07:00',
  graceMinutes: 60,
  caregiverAfterMinutes: 90,
  quietAfterDays: 3,
};

/** `due`: a session is due. `not-begun`: a session was not started within the agreed time; for caregivers only. */
export type ReminderKind = 'due' | 'not-begun';

/** One reminder of one slot, before its recipients are known. */
export type Reminder = {
  kind: ReminderKind;
  slot: string;
  /** When the session is due. */
  slotDueAtMs: number;
  /** When the reminder is due; quiet hours can delay it. */
  forAtMs: number;
  /** When it is to be sent; null when quiet hours outlast its useful time. */
  sendAtMs: number | null;
  /** It is never sent at or after this instant. */
  goodUntilMs: number;
};

/** Returns the reminders of some slots, in the order in which they are due. */
export function remindersOf(slots: readonly Slot[], rules: ReminderRules, zone: string): Reminder[] {
  const { caregiverAfterMinutes: after } = rules;
  return slots
    .flatMap(({ slot, dueAtMs }) => {
      const due = reminder('due', slot, { dueAtMs, forAtMs: dueAtMs, rules, zone });
      if (after === null) return [due];
      const forAtMs = dueAtMs + after * minuteMs;
      return [due, reminder('not-begun', slot, { dueAtMs, forAtMs, rules, zone })];
    })
    .sort((a, b) => a.forAtMs - b.forAtMs);
}

function reminder(
  kind: ReminderKind,
  slot: string,
  { dueAtMs, forAtMs, rules, zone }: { dueAtMs: number; forAtMs: number; rules: ReminderRules; zone: string },
): Reminder {
  const goodUntilMs = forAtMs + rules.graceMinutes * minuteMs;
  const sendAtMs = delayPastQuietHours(forAtMs, rules, zone);
  return {
    ...{ kind, slot, slotDueAtMs: dueAtMs, forAtMs, goodUntilMs },
    sendAtMs: sendAtMs < goodUntilMs ? sendAtMs : null,
  };
}

type QuietHours = Pick<ReminderRules, 'quietFrom' | 'quietUntil'>;

/** Returns the first instant at or after `atMs` that is outside the quiet hours: usually `atMs` itself. */
export function delayPastQuietHours(atMs: number, quiet: QuietHours, zone: string): number {
  let foundMs = atMs;
  // On a day when clocks change, the end of the quiet hours can be skipped, and the next time shown lies in the
  // following quiet hours.
  while (isQuiet(foundMs, quiet, zone)) foundMs = nextTimeShown(foundMs, quiet.quietUntil, zone);
  return foundMs;
}

function isQuiet(atMs: number, { quietFrom, quietUntil }: QuietHours, zone: string): boolean {
  const time = timeOfDayIn(atMs, zone);
  const isOverMidnight = quietFrom > quietUntil;
  return isOverMidnight ? time >= quietFrom || time < quietUntil : time >= quietFrom && time < quietUntil;
}
