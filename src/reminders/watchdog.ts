import { randomUUID } from 'node:crypto';
import type { Channel, ChannelName } from '../channels/channel.js';
import type { Messages } from '../documents/messages.js';
import { ownerEmails } from '../store/accounts/clinicians.js';
import type { Store } from '../store/engine/openStore.js';
import { dayMs } from '../time/units.js';
import { superseded } from './runner.js';

export type WatchdogParts = {
  /** Returns the work that has stopped. */
  standsStill: () => readonly string[];
  store: Store;
  channels: ReadonlyMap<ChannelName, Channel>;
  messages: Messages;
  /** The address of the service for recipients, without a trailing slash. */
  address: string;
  onFailure: (what: string, error: unknown) => void;
  /** Runs evenly, even when the wall clock is set. */
  steadyMs?: () => number;
};

const lookEveryMs = 10_000;
const mailWithinMs = 60_000;
/** A database that hangs must not hold up the email that says so. */
const askMs = 5_000;
const rememberEveryMs = 10 * 60_000;
const tellAgainAfterMs = dayMs;

/**
 * Monitors sending from outside: if it stops, owners get an email that uses none of its paths, and another for each day
 * it stays stopped. Their addresses are cached for when the database cannot be asked or does not answer.
 *
 * @returns a function that stops it and waits for work in progress
 */
export function watchSending(parts: WatchdogParts): () => Promise<void> {
  const { standsStill, store, onFailure, steadyMs = () => performance.now() } = parts;
  let owners: readonly string[] = [];
  let rememberedMs = Number.NEGATIVE_INFINITY;
  let toldMs = Number.NEGATIVE_INFINITY;
  let wasStill = false;
  let looking: Promise<void> | null = null;
  let asking: Promise<void> | null = null;

  // One query at a time, however long it takes: hung queries must not pile up.
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
    // A machine that has just woken needs a moment until its work has resumed: only two signs in a row count.
    const isStill = still.length > 0 && wasStill;
    const isFirst = still.length > 0 && !wasStill;
    wasStill = still.length > 0;
    if (!wasStill) toldMs = Number.NEGATIVE_INFINITY;
    const nowMs = steadyMs();
    const isDue = isStill && nowMs - toldMs >= tellAgainAfterMs;
    const isOld = nowMs - rememberedMs >= rememberEveryMs;
    // Asked at the first sign, so that the email has nothing to wait for at the second.
    if (isFirst || (isOld && !(isDue && owners.length > 0))) await remember();
    if (!isDue) return;
    // If no owner was known yet, owners are notified as soon as one is.
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
  // A slow mail server of one owner delays no other.
  await Promise.all(owners.map(tellOne));
}
