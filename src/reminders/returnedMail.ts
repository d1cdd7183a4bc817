import { join } from 'node:path';
import { z } from 'zod';
import { type Bounce, readBounce } from '../channels/bounce.js';
import { leaveNote, takeNotes } from '../files/leftNotes.js';
import type { Store } from '../store/engine/openStore.js';
import { contactOfDelivery, endContact } from '../store/people/contacts.js';
import { markReturned } from '../store/reminding/deliveries.js';

/** A folder shared by the mail server's command, which receives bounces, and the service, which owns the database. */
const folderName = 'returned-mail';
const noteSchema = z.strictObject({ key: z.uuid(), isFinal: z.boolean(), status: z.string() });
/** A file without a valid bounce is removed like one that was read. */
const noteTextSchema = z
  .string()
  .transform((text, context) => {
    try {
      return JSON.parse(text) as unknown;
    } catch {
      context.addIssue('not JSON');
      return z.NEVER;
    }
  })
  .pipe(noteSchema);

/**
 * Reads a returned mail and leaves a bounce for the service.
 *
 * @returns false if it is not a bounce of one of our messages; nothing is left then
 * @throws StillcountError kind `work` if the bounce cannot be written or handed over to the service
 */
export async function queueReturnedMail(dataFolder: string, mail: Buffer): Promise<boolean> {
  const bounce = await readBounce(mail);
  const note = noteSchema.safeParse(bounce);
  if (!note.success) return false;
  await leaveNote(dataFolder, folderName, note.data);
  return true;
}

/**
 * Records the bounces since the last call: the message has failed, and an address that no longer exists is not used
 * again. A full mailbox, or a server with its own rules, may work next time.
 *
 * @param onFailure called for each bounce that stays, because it cannot be read or recorded now
 * @returns how many bounces there were
 */
export async function processReturnedMail(
  dataFolder: string,
  { store, nowMs, onFailure }: { store: Store; nowMs: number; onFailure: (error: unknown) => void },
): Promise<number> {
  const use = async (text: string) => {
    const note = noteTextSchema.safeParse(text);
    if (note.success && note.data.isFinal) await store.write((db) => returned(db, note.data, nowMs));
  };
  return takeNotes(join(dataFolder, folderName), use, onFailure);
}

async function returned(
  db: Parameters<typeof markReturned>[0],
  { key, status }: Bounce,
  nowMs: number,
): Promise<void> {
  const isNoAddress = /^5\.1\./.test(status);
  await markReturned(db, key, { why: isNoAddress ? 'mail-no-such-address' : 'mail-refused', nowMs });
  const contactId = isNoAddress ? await contactOfDelivery(db, key) : null;
  if (contactId !== null) await endContact(db, contactId, { why: 'bounced', nowMs });
}
