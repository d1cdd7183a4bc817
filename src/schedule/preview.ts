import { type Heard, isFreeDay } from './plannedStates.js';
import { isFor } from './recipients.js';
import { type Reminder, type ReminderRules, remindersOf } from './reminders.js';
import { type DeliveryContext, decideDelivery, type OwnReminder } from './sending.js';
import { dayOfSlot, type Rhythm, slotsOf } from './slots.js';
import { addDays, isoDayIn } from './wallClock.js';

/** An active program, with the results of its sessions this week so far. */
export type PreviewedProgram = {
  id: string;
  rhythm: Rhythm;
  /** Results by slot, for the whole week, so that its days can be counted. */
  heard: ReadonlyMap<string, Heard>;
  /** Returns whether a session was postponed. */
  isPutOff: (slot: string) => boolean;
  /** From when the listener has rested enough since the last session to do the next; 0 when there was none. */
  restedAtMs: number;
};

type Agreed = Parameters<typeof isFor>[1];

/** A reminder of one program, with all its recipients. */
export type PreviewedReminder<Recipient> = Reminder & {
  programId: string;
  recipients: Recipient[];
  /** When it would be sent; null when quiet hours outlast its useful time. */
  wouldBeSentAtMs: number | null;
};

/**
 * Returns the reminders of today and the following days as they would be sent if nothing changed, in order of time,
 * including those that quiet hours suppress. A notice that a session was not started is listed as if the session stays
 * not started.
 *
 * @param days number of days, including today
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
  /** The patient's zone. */
  zone: string;
  nowMs: number;
  days: number;
}): PreviewedReminder<Recipient>[] {
  const today = isoDayIn(nowMs, zone);
  // A reminder of yesterday evening's session may still be pending after midnight.
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

/** Returns when a reminder would be sent, or when it was due before quiet hours suppressed it. */
export function shownAtMs({
  wouldBeSentAtMs,
  forAtMs,
}: Pick<PreviewedReminder<never>, 'wouldBeSentAtMs' | 'forAtMs'>): number {
  return wouldBeSentAtMs ?? forAtMs;
}

/** Returns the reminders of one slot that would be sent, or that quiet hours suppress. */
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
    // The wait before a "not started" notice counts from when the patient was reminded.
    if (planned.kind === 'due' && isPatientReminded) {
      const { sentAtMs } = outcome;
      ownReminder = sentAtMs === null ? { state: 'unsent' } : { state: 'sent', atMs: sentAtMs };
    }
    const isShown = outcome.sentAtMs !== null || outcome.isHeldBack;
    return isShown ? [{ ...planned, programId: id, wouldBeSentAtMs: outcome.sentAtMs }] : [];
  });
}

/** Returns the final result of deciding, deciding again at the given time whenever the decision is to wait. */
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
