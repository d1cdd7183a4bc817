import { notBefore, type Reminder, type ReminderRules } from './reminders.js';

/** Why a reminder was not sent; each has its words on the clinic's pages. */
export const unsentReasons = [
  'too-late',
  'quiet-hours',
  'no-consent',
  'no-address',
  'not-prescribed',
  'in-a-break',
  'changed',
  'held-by-warning',
  'begun',
  'put-off',
  'week-done',
] as const;
export type UnsentReason = (typeof unsentReasons)[number];

/** What is true of a reminder at the moment at which it would be sent. */
export type Moment = {
  nowMs: number;
  /** The same reminder as it would be planned now; null when its slot is no longer one. */
  planned: Reminder | null;
  /** Why the slot is none, when it is none. */
  whyNoSlot: 'not-prescribed' | 'in-a-break' | 'changed';
  rules: Pick<ReminderRules, 'quietFrom' | 'quietUntil'>;
  /** The patient's. */
  zone: string;
  hasConsent: boolean;
  /** The address that it would go to still stands. */
  hasAddress: boolean;
  isHeldByWarning: boolean;
  hasBegun: boolean;
  isPutOff: boolean;
  isWeekDone: boolean;
};

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

/**
 * Whether a reminder is sent now (rules R3 to R5): consent, pauses, ends, quiet hours and what has happened meanwhile
 * are asked at this very moment, whatever was planned.
 */
export function decide(moment: Moment): Decision {
  const { planned, nowMs } = moment;
  const unwanted = whyUnwanted(moment);
  if (unwanted !== null) return { do: 'drop', why: unwanted };
  if (planned === null) return { do: 'drop', why: moment.whyNoSlot };
  if (planned.sendAtMs === null) return { do: 'miss', why: 'quiet-hours' };
  if (nowMs >= planned.goodUntilMs) return { do: 'miss', why: 'too-late' };
  // It may have waited into the evening.
  const allowedAtMs = notBefore(Math.max(nowMs, planned.sendAtMs), moment.rules, moment.zone);
  if (allowedAtMs >= planned.goodUntilMs) return { do: 'miss', why: 'quiet-hours' };
  if (nowMs < allowedAtMs) return { do: 'wait', untilMs: allowedAtMs };
  return { do: 'send', isLate: nowMs - planned.forAtMs > lateAfterMs };
}

function whyUnwanted(moment: Moment): UnsentReason | null {
  if (!moment.hasConsent) return 'no-consent';
  if (!moment.hasAddress) return 'no-address';
  if (moment.isHeldByWarning) return 'held-by-warning';
  if (moment.planned === null) return moment.whyNoSlot;
  if (moment.hasBegun) return 'begun';
  if (moment.isPutOff) return 'put-off';
  return moment.isWeekDone ? 'week-done' : null;
}
