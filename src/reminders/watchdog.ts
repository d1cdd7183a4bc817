import { randomUUID } from 'node:crypto';
import type { Channel, ChannelName } from '../channels/channel.js';
import type { Messages } from '../documents/messages.js';
import { ownerEmails } from '../store/accounts/clinicians.js';
import type { Store } from '../store/engine/openStore.js';
import { dayMs } from '../time/units.js';
import { superseded } from './runner.js';

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
/** A database that hangs must not keep the mail that says so. */
const askMs = 5_000;
const rememberEveryMs = 10 * 60_000;
const tellAgainAfterMs = dayMs;

/**
 * Watches from outside the work of sending: when that stands still, owners get a mail that takes none of its ways, and
 * one more for each day on which it still does. Their addresses are remembered for when the database cannot be asked,
 * or does not answer.
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
  let asking: Promise<void> | null = null;

  // Asked once at a time, however long it takes: what hangs must not be piled up.
  const remember = async () => {
    asking ??= store
      .read(ownerEmails)
      .then(
        (found) => {
          owners = found;
          rememberedMs = steadyMs();
        },
        () => undefined,
      )
      .finally(() => {
        asking = null;
      });
    let timer: NodeJS.Timeout | undefined;
    const tooLate = new Promise<void>((resolve) => {
      timer = setTimeout(resolve, askMs);
    });
    await Promise.race([asking, tooLate]);
    clearTimeout(timer);
  };

  const look = async () => {
    const still = standsStill();
    // A machine that has just woken needs a moment until its work has gone on: twice in a row is true.
    const isStill = still.length > 0 && wasStill;
    const isFirst = still.length > 0 && !wasStill;
    wasStill = still.length > 0;
    if (!wasStill) toldMs = Number.NEGATIVE_INFINITY;
    const nowMs = steadyMs();
    const isDue = isStill && nowMs - toldMs >= tellAgainAfterMs;
    const isOld = nowMs - rememberedMs >= rememberEveryMs;
    // Asked at the first sign, so that the mail has nothing to wait for at the second.
    if (isFirst || (isOld && !(isDue && owners.length > 0))) await remember();
    if (!isDue) return;
    // Where no one could be asked for yet, they are told as soon as someone is known.
    if (Number.isFinite(rememberedMs)) toldMs = nowMs;
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
  const warnings = still.includes('warnings not sent') || still.includes(superseded);
  const words = messages('stands-still-owner', { warnings });
  const tellOne = async (email: string) => {
    const message = {
      ...{ key: `stands-still-${randomUUID()}`, language: 'en', kind: 'stands-still' as const },
      ...{ subject: words.subject, text: words.text, short: words.short },
      link: { words: words.link, address: `${address}/` },
      ...{ unsubscribe: null, isUrgent: true, goodForSeconds: 24 * 3_600 },
    };
    const { outcome } = await mail.send(email, message, AbortSignal.timeout(mailWithinMs));
    if (outcome !== 'sent') onFailure('owners not told', new Error(outcome));
  };
  // One whose server is slow keeps no other waiting.
  await Promise.all(owners.map(tellOne));
}
