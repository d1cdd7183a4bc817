import { minuteMs } from '../time/units.js';
import type { Slot } from './slots.js';
import { nextTimeShown, timeOfDayIn } from './wallClock.js';

/** What was agreed on about the reminders of one person. */
export type ReminderRules = {
  /** `HH:MM` in the patient's zone: nothing is sent from the one to the other, but for warning signs. */
  quietFrom: string;
  quietUntil: string;
  /** A reminder that could not be sent in time may still come so much later, and then says so. */
  graceMinutes: number;
  /** When a session was not begun so long after its time, the caregivers are told; null for never. */
  caregiverAfterMinutes: number | null;
  /** After so many days on which nothing was begun, the clinician's home page says so. */
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

/** `due`: it is time. `not-begun`: a session was not begun within the agreed time, for caregivers only. */
export type ReminderKind = 'due' | 'not-begun';

/** One reminder of one slot, before it is known whom it goes to. */
export type Reminder = {
  kind: ReminderKind;
  slot: string;
  /** When the session is due. */
  slotDueAtMs: number;
  /** When the reminder is for; quiet hours may move it on from there. */
  forAtMs: number;
  /** When it is to be sent; null when quiet hours last longer than it is good for. */
  sendAtMs: number | null;
  /** It is never sent from this moment on. */
  goodUntilMs: number;
};

/** The reminders of some slots, in the order in which they are for. */
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

/** The first moment from another on that lies outside the quiet hours: mostly that moment itself. */
export function delayPastQuietHours(atMs: number, quiet: QuietHours, zone: string): number {
  let foundMs = atMs;
  // Where clocks change, their end may be leapt over and lie in the next ones.
  while (isQuiet(foundMs, quiet, zone)) foundMs = nextTimeShown(foundMs, quiet.quietUntil, zone);
  return foundMs;
}

function isQuiet(atMs: number, { quietFrom, quietUntil }: QuietHours, zone: string): boolean {
  const time = timeOfDayIn(atMs, zone);
  const isOverMidnight = quietFrom > quietUntil;
  return isOverMidnight ? time >= quietFrom || time < quietUntil : time >= quietFrom && time < quietUntil;
}
