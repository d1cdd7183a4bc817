import type { MessageView } from '../documents/messages.js';
import type { UnsentReason } from '../schedule/sending.js';

/**
 * Why the sending itself did not send, beside what the schedule and the channels say. The pages have words for each.
 */
export const sendingFailureReasons = [
  /** It was tried in time, and again and again, until it would have come too late. */
  'tried-too-long',
  'channel-not-set-up',
  /** It was handed over, and no one said whether it was taken: once more would be twice for many. */
  'answer-unknown',
  /** A clinician had looked into the warning sign. */
  'answered',
  /** What is kept about it cannot be understood. */
  'record-unreadable',
] as const;
type SendingFailureReason = (typeof sendingFailureReasons)[number];

/** What is decided about a delivery at the moment at which it is due. */
export type Choice =
  | { do: 'send'; isLate: boolean; view: MessageView }
  | { do: 'wait'; untilMs: number }
  | { do: 'drop' | 'miss' | 'fail'; why: UnsentReason | SendingFailureReason };
