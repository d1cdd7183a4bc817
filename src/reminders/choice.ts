import type { MessageView } from '../documents/messages.js';
import type { UnsentReason } from '../schedule/sending.js';

/**
 * Why the sending itself did not send, in addition to the reasons of the schedule and the channels. The pages have
 * words for each.
 */
export const sendingFailureReasons = [
  /** It was tried in time, repeatedly, until it would have come too late. */
  'tried-too-long',
  'channel-not-set-up',
  /** It was handed over without confirmation: sending it again would reach many recipients twice. */
  'answer-unknown',
  /** A clinician had answered the warning sign. */
  'answered',
  /** Its stored data cannot be read. */
  'record-unreadable',
] as const;
type SendingFailureReason = (typeof sendingFailureReasons)[number];

/** The decision about a delivery at the time it is due. */
export type Choice =
  | { do: 'send'; isLate: boolean; view: MessageView }
  | { do: 'wait'; untilMs: number }
  | { do: 'drop' | 'miss' | 'fail'; why: UnsentReason | SendingFailureReason };
