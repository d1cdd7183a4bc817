import type { Report, ReportAnswer, ReportItem } from '../../listening/report.js';
import type { Outbox, Sender } from './outbox.js';

/** `unreached`: no network, or the service is down. `shut`: the link no longer opens. */
type Sent = { kind: 'answered'; answer: ReportAnswer } | { kind: 'unreached' | 'shut' };

/** Sends one batch to the service. */
export type Post = (report: Report) => Promise<Sent>;

/**
 * Sends all unsent reports, one batch after the other and never two at once: tabs take turns. Reports that the service
 * has not confirmed are sent again, and the service stores each id once.
 *
 * @returns why it ended: everything is sent, or what prevented it
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
