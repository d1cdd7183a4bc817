import { delayPastQuietHours, type Reminder, type ReminderRules } from './reminders.js';

/** Why a reminder was not sent; the clinic's pages have words for each reason. */
export const unsentReasons = [
  'too-late',
  /** Its time was moved (for example by a change of zone) to one that had already passed. */
  'moved',
  'quiet-hours',
  'no-consent',
  'no-address',
  'not-prescribed',
  'not-playable',
  'in-a-break',
  'changed',
  'held-by-warning',
  'begun',
  'put-off',
  'week-done',
  'resting',
  /** There is no number to call, so a patient who feels unwell could not reach the clinic. */
  'no-clinic-number',
] as const;
export type UnsentReason = (typeof unsentReasons)[number];

/** The facts about a reminder at the moment it would be sent. */
export type DeliveryContext = {
  nowMs: number;
  /** When it was to be sent according to the earlier plan. */
  keptForAtMs: number;
  /** The same reminder as it would be planned now; null when its slot no longer exists. */
  planned: Reminder | null;
  /** Why the slot no longer exists, if it does not. */
  whyNoSlot: 'not-prescribed' | 'not-playable' | 'in-a-break' | 'changed';
  rules: Pick<ReminderRules, 'quietFrom' | 'quietUntil'>;
  /** The patient's zone. */
  zone: string;
  hasConsent: boolean;
  /**
   * Whether the clinic has a phone number. Every reminder tells the patient when to call it instead of starting a
   * session.
   */
  hasClinicNumber: boolean;
  /** Whether the recipient's address is still valid. */
  hasAddress: boolean;
  isHeldByWarning: boolean;
  hasBegun: boolean;
  isPutOff: boolean;
  isWeekDone: boolean;
  /** From when the patient has rested enough since the last session to do the next; 0 when there was none. */
  restedAtMs: number;
  /** The result of the patient's own reminder of the same slot; null when they get none. */
  ownReminder: OwnReminder | null;
  /** After how many minutes caregivers are notified that a session was not started; null for never. */
  caregiverAfterMinutes: number | null;
};

/** `open`: still to be sent. `unsent`: was not and will not be sent. */
export type OwnReminder = { state: 'open' | 'unsent' } | { state: 'sent'; atMs: number };

export type Decision =
  | { do: 'send'; isLate: boolean }
  /** Do not send it yet: it was moved, quiet hours begin, or the clock was set back. */
  | { do: 'wait'; untilMs: number }
  /** It is no longer wanted. */
  | { do: 'drop'; why: UnsentReason }
  /** It was wanted, and its time is over. */
  | { do: 'miss'; why: UnsentReason };

/** A reminder sent later than this says that it is late. Our choice; no source. */
const lateAfterMs = 5 * 60_000;
/** While the patient's own reminder is being sent, wait this long, until its result is known. */
const askAgainMs = 60_000;

/**
 * Decides whether to send a reminder now.
 *
 * Rule R3: consent, pauses, end dates, quiet hours and anything that has happened since planning are checked at the
 * moment of sending, whatever was planned. Rule R4: within the grace time a late reminder is sent and says that it is
 * late; after that it counts as missed. Rule R5: a caregiver is notified that a session was not started only after the
 * patient has known for the agreed time that it is due.
 */
export function decideDelivery(moment: DeliveryContext): Decision {
  const { planned, nowMs } = moment;
  const unwanted = whyUnwanted(moment);
  if (unwanted !== null) return { do: 'drop', why: unwanted };
  if (planned === null) return { do: 'drop', why: moment.whyNoSlot };
  if (planned.sendAtMs === null) return { do: 'miss', why: 'quiet-hours' };
  if (nowMs >= planned.goodUntilMs) return { do: 'miss', why: whyOver(moment, planned) };
  const wantedAtMs = wantedAt(moment, planned);
  if (wantedAtMs >= planned.goodUntilMs) return { do: 'drop', why: 'resting' };
  // It may have waited until quiet hours began.
  const allowedAtMs = delayPastQuietHours(Math.max(nowMs, wantedAtMs), moment.rules, moment.zone);
  if (allowedAtMs >= planned.goodUntilMs) return { do: 'miss', why: 'quiet-hours' };
  if (nowMs < allowedAtMs) return { do: 'wait', untilMs: allowedAtMs };
  if (!moment.hasClinicNumber) return { do: 'miss', why: 'no-clinic-number' };
  return { do: 'send', isLate: nowMs - Math.max(planned.forAtMs, wantedAtMs) > lateAfterMs };
}

/**
 * Returns `moved` rather than `too-late` where the new time had already passed when the reminder was moved there,
 * because then nothing was slow.
 */
function whyOver({ keptForAtMs }: DeliveryContext, { goodUntilMs }: Reminder): UnsentReason {
  return goodUntilMs <= keptForAtMs ? 'moved' : 'too-late';
}

/**
 * Returns the earliest instant to send at. Nobody is called to a session while still resting from the last one, and a
 * notice that a patient did not start waits until the patient has known for the agreed time that they could.
 */
function wantedAt(
  { nowMs, restedAtMs, ownReminder, caregiverAfterMinutes }: DeliveryContext,
  planned: Reminder,
): number {
  const earliestMs = Math.max(planned.sendAtMs ?? 0, planned.forAtMs);
  const opensAtMs = Math.max(planned.slotDueAtMs, restedAtMs);
  if (planned.kind === 'due') return Math.max(earliestMs, opensAtMs);
  if (ownReminder?.state === 'open') return Math.max(earliestMs, nowMs + askAgainMs);
  const knownAtMs = ownReminder?.state === 'sent' ? Math.max(opensAtMs, ownReminder.atMs) : opensAtMs;
  return Math.max(earliestMs, knownAtMs + (caregiverAfterMinutes ?? 0) * 60_000);
}

function whyUnwanted(moment: DeliveryContext): UnsentReason | null {
  if (!moment.hasConsent) return 'no-consent';
  if (!moment.hasAddress) return 'no-address';
  if (moment.isHeldByWarning) return 'held-by-warning';
  if (moment.planned === null) return moment.whyNoSlot;
  if (moment.hasBegun) return 'begun';
  if (moment.isPutOff) return 'put-off';
  return moment.isWeekDone ? 'week-done' : null;
}
