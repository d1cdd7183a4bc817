import { type Heard, isFreeDay } from './plannedStates.js';
import { isFor } from './recipients.js';
import { type Reminder, type ReminderRules, remindersOf } from './reminders.js';
import { dayOfSlot, type Rhythm, slotsOf } from './slots.js';
import { addDays, isoDayIn } from './wallClock.js';

/** A program that runs, with what came of its sessions of this week so far. */
export type PreviewedProgram = {
  id: string;
  rhythm: Rhythm;
  /** By slot; of the whole week, so that its days can be counted. */
  heard: ReadonlyMap<string, Heard>;
  /** Slots that were put off. */
  putOff: ReadonlySet<string>;
};

type Agreed = Parameters<typeof isFor>[1];

/** A reminder of one program, with everybody whom it goes to. */
export type PreviewedReminder<Recipient> = Reminder & { programId: string; recipients: Recipient[] };

/**
 * The reminders of today and the days after it as they would be sent if nothing changed, in the order of their times;
 * also those that quiet hours hold back for good (`sendAtMs` is null). That a session was not begun is told only if it
 * is not: this is about what would be sent then.
 *
 * @param days how many, today among them
 */
export function previewOf<Recipient extends { agreed: Agreed }>({
  programs,
  recipients,
  rules,
  zone,
  nowMs,
  days,
}: {
  programs: readonly PreviewedProgram[];
  recipients: readonly Recipient[];
  rules: ReminderRules;
  /** The patient's. */
  zone: string;
  nowMs: number;
  days: number;
}): PreviewedReminder<Recipient>[] {
  const today = isoDayIn(nowMs, zone);
  // What belongs to yesterday evening may still be to come after midnight.
  const shownDays = Array.from({ length: days + 1 }, (_, index) => addDays(today, index - 1));
  return programs
    .flatMap((program) => {
      const slots = shownDays.flatMap((day) => slotsOf(program.rhythm, day));
      const open = slots.filter(({ slot }) => isOpen(program, slot));
      return remindersOf(open, rules, zone).map((reminder) => ({
        ...reminder,
        programId: program.id,
        recipients: recipients.filter(({ agreed }) => isFor(reminder.kind, agreed)),
      }));
    })
    .filter((each) => each.recipients.length > 0 && shownAtMs(each) >= nowMs)
    .sort((a, b) => shownAtMs(a) - shownAtMs(b));
}

/** When a reminder is sent, or would be if quiet hours let it. */
export function shownAtMs({ sendAtMs, forAtMs }: Pick<Reminder, 'sendAtMs' | 'forAtMs'>): number {
  return sendAtMs ?? forAtMs;
}

function isOpen({ rhythm, heard, putOff }: PreviewedProgram, slot: string): boolean {
  return !heard.has(slot) && !putOff.has(slot) && !isFreeDay(rhythm, heard, dayOfSlot(slot));
}
