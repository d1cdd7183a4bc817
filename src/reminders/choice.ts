import type { MessageView } from '../documents/messages.js';

/** What is decided about a delivery at the moment at which it is due; `why` is a word of the schedule or a channel. */
export type Choice =
  | { do: 'send'; isLate: boolean; view: MessageView }
  | { do: 'wait'; untilMs: number }
  | { do: 'drop' | 'miss' | 'fail'; why: string };
