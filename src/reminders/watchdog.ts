import { randomUUID } from 'node:crypto';
import type { Channel, ChannelName } from '../channels/channel.js';
import type { Messages } from '../documents/messages.js';
import { ownerEmails } from '../store/clinicians.js';
import type { Store } from '../store/openStore.js';

export type WatchdogParts = {
  /** What stands still by now. */
  standsStill: () => readonly string[];
  store: Store;
  channels: ReadonlyMap<ChannelName, Channel>;
  messages: Messages;
  /** The service as its readers reach it, without a slash at the end. */
  address: string;
  onFailure: (what: string, error: unknown) => void;
  /** Goes on evenly, whatever is set. */
  steadyMs?: () => number;
};

const lookEveryMs = 10_000;
const mailWithinMs = 60_000;
const rememberEveryMs = 10 * 60_000;
const tellAgainAfterMs = 24 * 3_600_000;

/**
 * Watches from outside the work of sending: when that stands still, owners get a mail that takes none of its ways, and
 * one more for each day on which it still does. Their addresses are remembered for when the database cannot be asked.
 *
 * @returns a function that ends it and waits for what is under way
 */
export function watchSending(parts: WatchdogParts): () => Promise<void> {
  const { standsStill, store, onFailure, steadyMs = () => performance.now() } = parts;
  let owners: readonly string[] = [];
  let rememberedMs = Number.NEGATIVE_INFINITY;
  let toldMs = Number.NEGATIVE_INFINITY;
  let wasStill = false;
  let looking: Promise<void> | null = null;

  const look = async () => {
    const still = standsStill();
    // A machine that has just woken needs a moment until its work has gone on: twice in a row is true.
    const isStill = still.length > 0 && wasStill;
    wasStill = still.length > 0;
    if (!wasStill) toldMs = Number.NEGATIVE_INFINITY;
    const nowMs = steadyMs();
    if (isStill || nowMs - rememberedMs >= rememberEveryMs) {
      owners = await store.read(ownerEmails).catch(() => owners);
      rememberedMs = nowMs;
    }
    if (!isStill || nowMs - toldMs < tellAgainAfterMs) return;
    toldMs = nowMs;
    for (const what of still) onFailure(what, new Error('stands still'));
    await tell(parts, owners, still);
  };
  const lookOnce = () => {
    looking ??= look()
      .catch((error: unknown) => onFailure('owners not told', error))
      .finally(() => {
        looking = null;
      });
  };
  const timer = setInterval(lookOnce, lookEveryMs);
  lookOnce();
  return async () => {
    clearInterval(timer);
    await looking;
  };
}

async function tell(
  { channels, messages, address, onFailure }: WatchdogParts,
  owners: readonly string[],
  still: readonly string[],
): Promise<void> {
  const mail = channels.get('mail');
  if (mail === undefined) return;
  const words = messages('stands-still-owner', { warnings: still.includes('warnings not sent') });
  for (const email of owners) {
    const message = {
      ...{ key: `stands-still-${randomUUID()}`, language: 'en', kind: 'stands-still' as const },
      ...{ subject: words.subject, text: words.text, short: words.short },
      link: { words: words.link, address: `${address}/` },
      ...{ unsubscribe: null, isUrgent: true, goodForSeconds: 24 * 3_600 },
    };
    const { outcome } = await mail.send(email, message, AbortSignal.timeout(mailWithinMs));
    if (outcome !== 'sent') onFailure('owners not told', new Error(outcome));
  }
}
