import { createHash, createHmac, randomBytes } from 'node:crypto';
import { newVapidKeys, type VapidKeys, vapidKeysSchema } from '../channels/push.js';
import type { Store } from '../store/engine/openStore.js';
import { serviceSecret } from '../store/service/serviceSecrets.js';

/** Secrets of the reminders, the same in every process and after every start. Tokens are never stored, only hashes. */
export type ReminderSecrets = {
  /** The service's own keys for web push (RFC 8292), base64url. */
  vapid: VapidKeys;
  /**
   * The token of the link in messages to a contact: it opens the pages of a listening link, and ends with that link.
   */
  pagesTokenOf(contactId: string, linkId: string): string;
  pagesHashOf(contactId: string, linkId: string): string;
  /** The token with which a recipient unsubscribes a contact. */
  unsubscribeTokenOf(contactId: string): string;
  unsubscribeHashOf(contactId: string): string;
};

/** Reads the secrets, creating them on the first start. */
export async function openReminderSecrets(store: Store, nowMs: number): Promise<ReminderSecrets> {
  const [key, vapid] = await store.write(async (db) => [
    await serviceSecret(db, 'message-tokens', { make: () => randomBytes(32).toString('base64url'), nowMs }),
    await serviceSecret(db, 'web-push', { make: () => JSON.stringify(newVapidKeys()), nowMs }),
  ]);
  // 256 bits that cannot be derived without the key and need not be stored anywhere.
  const tokenOf = (...about: string[]) =>
    createHmac('sha256', key ?? '')
      .update(JSON.stringify(about))
      .digest('base64url');
  const hashOf = (token: string) => createHash('sha256').update(token).digest('hex');
  const pagesTokenOf = (contactId: string, linkId: string) => tokenOf('pages', contactId, linkId);
  const unsubscribeTokenOf = (contactId: string) => tokenOf('unsubscribe', contactId);
  return {
    vapid: vapidKeysSchema.parse(JSON.parse(vapid ?? '')),
    pagesTokenOf,
    pagesHashOf: (contactId, linkId) => hashOf(pagesTokenOf(contactId, linkId)),
    unsubscribeTokenOf,
    unsubscribeHashOf: (contactId) => hashOf(unsubscribeTokenOf(contactId)),
  };
}
