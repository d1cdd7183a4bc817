import { type Heard, isFreeDay } from './plannedStates.js';
import { isFor } from './recipients.js';
import { type Reminder, type ReminderRules, remindersOf } from './reminders.js';
import { type DeliveryContext, decideDelivery, type OwnReminder } from './sending.js';
import { dayOfSlot, type Rhythm, slotsOf } from './slots.js';
import { addDays, isoDayIn } from './wallClock.js';

/** A program that runs, with what came of its sessions of this week so far. */
export type PreviewedProgram = {
  id: string;
  rhythm: Rhythm;
  /** By slot; of the whole week, so that its days can be counted. */
  heard: ReadonlyMap<string, Heard>;
  /** Whether a session was put off. */
  isPutOff: (slot: string) => boolean;
  /** When the last session was over long enough to do the next; 0 when there was none. */
  restedAtMs: number;
};

type Agreed = Parameters<typeof isFor>[1];

/** A reminder of one program, with everyone whom it goes to. */
export type PreviewedReminder<Recipient> = Reminder & {
  programId: string;
  recipients: Recipient[];
  /** When it would be sent; null when quiet hours last longer than it is good for. */
  wouldBeSentAtMs: number | null;
};

/**
 * The reminders of today and the days after it as they would be sent if nothing changed, in the order of their times;
 * also those that quiet hours hold back for good. That a session was not begun is told only if it is not: this is
 * about what would be sent then.
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
  const isPatientReminded = recipients.some(({ agreed }) => agreed.isPatient && agreed.isReminded);
  return programs
    .flatMap((program) =>
      shownDays
        .flatMap((day) => slotsOf(program.rhythm, day))
        .flatMap((slot) => {
          const reminders = remindersOf([slot], rules, zone);
          return sentOf(reminders, program, { rules, zone, isPatientReminded });
        }),
    )
    .map((each) => ({ ...each, recipients: recipients.filter(({ agreed }) => isFor(each.kind, agreed)) }))
    .filter((each) => each.recipients.length > 0 && shownAtMs(each) >= nowMs)
    .sort((a, b) => shownAtMs(a) - shownAtMs(b));
}

/** When a reminder would be sent, or was to be before quiet hours held it back. */
export function shownAtMs({
  wouldBeSentAtMs,
  forAtMs,
}: Pick<PreviewedReminder<never>, 'wouldBeSentAtMs' | 'forAtMs'>): number {
  return wouldBeSentAtMs ?? forAtMs;
}

/** The reminders of one slot that would be sent, or that quiet hours hold back. */
function sentOf(
  reminders: readonly Reminder[],
  { id, rhythm, heard, isPutOff, restedAtMs }: PreviewedProgram,
  { rules, zone, isPatientReminded }: { rules: ReminderRules; zone: string; isPatientReminded: boolean },
): Omit<PreviewedReminder<never>, 'recipients'>[] {
  let ownReminder: OwnReminder | null = null;
  return reminders.flatMap((planned) => {
    const { slot } = planned;
    const outcome = outcomeOf(planned, {
      ...{ planned, rules, zone, ownReminder, restedAtMs, keptForAtMs: planned.forAtMs },
      ...{
        hasConsent: true,
        hasClinicNumber: true,
        hasAddress: true,
        isHeldByWarning: false,
        whyNoSlot: 'changed',
      },
      hasBegun: heard.has(slot),
      isPutOff: isPutOff(slot),
      isWeekDone: isFreeDay(rhythm, heard, dayOfSlot(slot)),
      caregiverAfterMinutes: rules.caregiverAfterMinutes,
    });
    // What is told of a session that was not begun counts from when the patient knew of it.
    if (planned.kind === 'due' && isPatientReminded) {
      const { sentAtMs } = outcome;
      ownReminder = sentAtMs === null ? { state: 'unsent' } : { state: 'sent', atMs: sentAtMs };
    }
    const isShown = outcome.sentAtMs !== null || outcome.isHeldBack;
    return isShown ? [{ ...planned, programId: id, wouldBeSentAtMs: outcome.sentAtMs }] : [];
  });
}

/** What the decision comes to, asked again whenever it says to wait. */
function outcomeOf(
  { forAtMs }: Reminder,
  moment: Omit<DeliveryContext, 'nowMs'>,
): { sentAtMs: number | null; isHeldBack: boolean } {
  let nowMs = forAtMs;
  for (;;) {
    const decision = decideDelivery({ ...moment, nowMs });
    if (decision.do === 'send') return { sentAtMs: nowMs, isHeldBack: false };
    if (decision.do !== 'wait') return { sentAtMs: null, isHeldBack: decision.why === 'quiet-hours' };
    nowMs = decision.untilMs;
  }
}
