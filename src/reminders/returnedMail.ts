import { randomUUID } from 'node:crypto';
import { mkdir, readdir, readFile, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { type Bounce, readBounce } from '../channels/bounce.js';
import { writeWhole } from '../files/wholeFile.js';
import { contactOfDelivery, endContact } from '../store/contacts.js';
import { failSent } from '../store/deliveries.js';
import type { Store } from '../store/openStore.js';

/** A folder between the mail server, which hands returned mail to a command, and the service, which holds the database. */
const folderName = 'returned-mail';
const noteSchema = z.strictObject({ key: z.uuid(), isFinal: z.boolean(), status: z.string() });
/** A file that holds no note is taken away like one that was read. */
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
 * Reads a returned mail and leaves a note of it for the service.
 *
 * @returns false when it is no notice of a message of ours; nothing is left then
 * @throws StillcountError kind `work` when the note cannot be written
 */
export async function leaveReturnedMail(dataFolder: string, mail: Buffer): Promise<boolean> {
  const bounce = await readBounce(mail);
  const note = noteSchema.safeParse(bounce);
  if (!note.success) return false;
  const folder = join(dataFolder, folderName);
  await mkdir(folder, { recursive: true });
  await writeWhole(join(folder, `${randomUUID()}.json`), JSON.stringify(note.data));
  return true;
}

/**
 * Writes down what came back since: the message has failed, and an address that is no more is not written to again. A
 * mailbox that is full, or a server that has its rules, may work next time.
 *
 * @returns how many notes there were
 */
export async function takeReturnedMail(dataFolder: string, store: Store, nowMs: number): Promise<number> {
  const folder = join(dataFolder, folderName);
  const names = await readdir(folder).catch(() => []);
  const notes = names.filter((name) => name.endsWith('.json'));
  for (const name of notes) {
    const file = join(folder, name);
    // What cannot be read must not hold up the others for ever.
    const note = noteTextSchema.safeParse(await readFile(file, 'utf8').catch(() => ''));
    if (note.success && note.data.isFinal) await store.write((db) => returned(db, note.data, nowMs));
    await rm(file, { force: true, recursive: true });
  }
  return notes.length;
}

async function returned(
  db: Parameters<typeof failSent>[0],
  { key, status }: Bounce,
  nowMs: number,
): Promise<void> {
  const isNoAddress = /^5\.1\./.test(status);
  await failSent(db, key, { why: isNoAddress ? 'mail-no-such-address' : 'mail-refused', nowMs });
  const contactId = isNoAddress ? await contactOfDelivery(db, key) : null;
  if (contactId !== null) await endContact(db, contactId, { why: 'bounced', nowMs });
}
