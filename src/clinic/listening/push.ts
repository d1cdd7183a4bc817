import { z } from 'zod';
import { pushAddressSchema } from '../../channels/push.js';
import type { Db } from '../../store/engine/openStore.js';
import type { LinkOwner } from '../../store/listening/listeningLinks.js';
import { addContact, type ContactOwner, contactsOf, endContact } from '../../store/people/contacts.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm } from '../values.js';
import { auditListener } from './auditListener.js';
import { mayBeReminded } from './consent.js';
import type { Listener } from './listener.js';

/** The number of phones and tablets that can show one person's reminders. Our choice; no source. */
const mostPhones = 5;

const endpointSchema = z.object({ endpoint: z.string().max(2_000) });

/**
 * Starts reminders in a browser for the owner of a link.
 *
 * @param body a subscription as `PushSubscription.toJSON` returns it
 * @throws StillcountError kind `input` if it is not one; Refused if reminders were not agreed to
 */
export async function startPush(
  service: Pick<Resources, 'store' | 'reminderSecrets' | 'now'>,
  listener: Listener,
  body: unknown,
): Promise<void> {
  const { store, reminderSecrets } = service;
  const { clinicId, owner } = listener;
  const address = JSON.stringify(parseForm(pushAddressSchema, Object(body)));
  const nowMs = service.now();
  await store.write(async (db) => {
    if (!(await mayBeReminded(db, listener))) throw refused('reminders-not-agreed');
    const { unsubscribeHashOf } = reminderSecrets;
    const subject = await addContact(db, {
      clinicId,
      owner,
      channel: 'push',
      address,
      unsubscribeHashOf,
      nowMs,
    });
    await endSurplusSubscriptions(db, { clinicId, owner, newest: subject, nowMs });
    await auditListener(db, listener, { action: 'push-started', subject, atMs: nowMs });
  });
}

/** Stops reminders in a browser for the owner of a link. Errors as for {@link startPush}. */
export async function stopPush(
  { store, now }: Pick<Resources, 'store' | 'now'>,
  listener: Listener,
  body: unknown,
): Promise<void> {
  const { endpoint } = parseForm(endpointSchema, Object(body));
  const nowMs = now();
  await store.write(async (db) => {
    for (const { id } of await phonesOf(db, listener, endpoint)) {
      await endContact(db, id, { why: 'removed', nowMs });
      await auditListener(db, listener, { action: 'push-stopped', subject: id, atMs: nowMs });
    }
  });
}

/** Whether a browser shows reminders: its owner may have stopped them in another way. Errors as above. */
export async function hasPush(
  { store }: Pick<Resources, 'store'>,
  listener: Listener,
  body: unknown,
): Promise<boolean> {
  const { endpoint } = parseForm(endpointSchema, Object(body));
  return (await store.read((db) => phonesOf(db, listener, endpoint))).length > 0;
}

/** Ends reminders on all phones of a person whose link has ended. Runs in the transaction that ends it. */
export async function endPush(
  db: Db,
  { clinicId, owner, nowMs }: { clinicId: string; owner: LinkOwner; nowMs: number },
): Promise<void> {
  for (const { id } of await standingPush(db, clinicId, owner)) {
    await endContact(db, id, { why: 'removed', nowMs });
  }
}

/** Ends the oldest if there are too many. @param newest is always kept */
export async function endSurplusSubscriptions(
  db: Db,
  {
    clinicId,
    owner,
    newest,
    nowMs,
  }: { clinicId: string; owner: ContactOwner; newest: string; nowMs: number },
): Promise<void> {
  const others = (await standingPush(db, clinicId, owner)).filter(({ id }) => id !== newest);
  for (const { id } of others.slice(0, Math.max(0, others.length - (mostPhones - 1)))) {
    await endContact(db, id, { why: 'replaced', nowMs });
  }
}

async function phonesOf(db: Db, { clinicId, owner }: Listener, endpoint: string) {
  const contacts = await standingPush(db, clinicId, owner);
  return contacts.filter(
    ({ address }) => pushAddressSchema.safeParse(JSON.parse(address)).data?.endpoint === endpoint,
  );
}

async function standingPush(db: Db, clinicId: string, owner: ContactOwner) {
  const contacts = await contactsOf(db, clinicId, owner);
  return contacts.filter(({ channel, endedAtMs }) => channel === 'push' && endedAtMs === null);
}
