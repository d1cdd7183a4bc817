import { delayPastQuietHours, type Reminder, type ReminderRules } from './reminders.js';

/** Why a reminder was not sent; each has its words on the clinic's pages. */
export const unsentReasons = [
  'too-late',
  /** Its time was moved, as by a move to another zone, to one that was over already. */
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
  /** No one who feels unwell could call the clinic. */
  'no-clinic-number',
] as const;
export type UnsentReason = (typeof unsentReasons)[number];

/** What is true of a reminder at the moment at which it would be sent. */
export type DeliveryContext = {
  nowMs: number;
  /** When it was to be sent as it was planned before. */
  keptForAtMs: number;
  /** The same reminder as it would be planned now; null when its slot is no longer one. */
  planned: Reminder | null;
  /** Why the slot is none, when it is none. */
  whyNoSlot: 'not-prescribed' | 'not-playable' | 'in-a-break' | 'changed';
  rules: Pick<ReminderRules, 'quietFrom' | 'quietUntil'>;
  /** The patient's. */
  zone: string;
  hasConsent: boolean;
  /** The clinic has a number to call: every reminder says to call it before a session that should not be begun. */
  hasClinicNumber: boolean;
  /** The address that it would go to still stands. */
  hasAddress: boolean;
  isHeldByWarning: boolean;
  hasBegun: boolean;
  isPutOff: boolean;
  isWeekDone: boolean;
  /** When the last session was over long enough to do the next; 0 when there was none. */
  restedAtMs: number;
  /** What became of the patient's own reminder of the same slot; null when they get none. */
  ownReminder: OwnReminder | null;
  /** After how many minutes caregivers are told that a session was not begun; null for never. */
  caregiverAfterMinutes: number | null;
};

/** `open`: it is still to be sent. `unsent`: it was not, and will not be. */
export type OwnReminder = { state: 'open' | 'unsent' } | { state: 'sent'; atMs: number };

export type Decision =
  | { do: 'send'; isLate: boolean }
  /** Not yet: it was moved, quiet hours begin, or the clock was set back. */
  | { do: 'wait'; untilMs: number }
  /** It is no longer wanted. */
  | { do: 'drop'; why: UnsentReason }
  /** It was wanted, and its time is over. */
  | { do: 'miss'; why: UnsentReason };

/** From then on a reminder says that it is late. Our choice; no source. */
const lateAfterMs = 5 * 60_000;
/** The patient's own reminder is on its way: a moment later it is known what became of it. */
const askAgainMs = 60_000;

/**
 * Whether a reminder is sent now.
 *
 * Rule R3: consent, pauses, ends, quiet hours and what has happened meanwhile are asked at this very moment, whatever
 * was planned.
 * Rule R4: late within the grace time it is sent and says so; after it, it is missed.
 * Rule R5: a caregiver hears that a session was not begun only after the patient has known of it for the agreed time.
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
  // It may have waited into the evening.
  const allowedAtMs = delayPastQuietHours(Math.max(nowMs, wantedAtMs), moment.rules, moment.zone);
  if (allowedAtMs >= planned.goodUntilMs) return { do: 'miss', why: 'quiet-hours' };
  if (nowMs < allowedAtMs) return { do: 'wait', untilMs: allowedAtMs };
  if (!moment.hasClinicNumber) return { do: 'miss', why: 'no-clinic-number' };
  return { do: 'send', isLate: nowMs - Math.max(planned.forAtMs, wantedAtMs) > lateAfterMs };
}

/** No one was slow where its time lay ahead until it was moved, and with that was over. */
function whyOver({ keptForAtMs }: DeliveryContext, { goodUntilMs }: Reminder): UnsentReason {
  return goodUntilMs <= keptForAtMs ? 'moved' : 'too-late';
}

/**
 * No one is called to a session while they still rest from the last one; and no one is said not to have begun before
 * they have known for the agreed time that they might.
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
