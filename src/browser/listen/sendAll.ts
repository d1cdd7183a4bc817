import type { Report, ReportAnswer, ReportItem } from '../../listening/report.js';
import type { Outbox, Sender } from './outbox.js';

/** `unreached` has no network or a service that is down; `shut` is a link that no longer opens. */
type Sent = { kind: 'answered'; answer: ReportAnswer } | { kind: 'unreached' | 'shut' };

/** Sends one batch; the page asks the service. */
export type Post = (report: Report) => Promise<Sent>;

/**
 * Sends what is unsent, one batch after the other and never two at once: tabs take turns. What the service has not
 * answered for is sent again, and it keeps each id once.
 *
 * @returns why it ended: all is sent, or what kept it from being sent
 */
export async function sendAll(
  outbox: Outbox,
  { sender, post, now }: { sender: Sender; post: Post; now: () => number },
): Promise<{ ended: 'done' | 'unreached' | 'shut'; refused: ReportItem[] }> {
  const refused: ReportItem[] = [];
  for (;;) {
    const items = outbox.batch(sender, now());
    if (items.length === 0) return { ended: 'done', refused };
    const sent = await post({ sentAtMs: now(), items });
    if (sent.kind !== 'answered') return { ended: sent.kind, refused };
    refused.push(...outbox.settle(items, sent.answer));
    const isStuck = sent.answer.keptIds.length + sent.answer.refused.length === 0;
    if (isStuck) return { ended: 'unreached', refused };
  }
}
