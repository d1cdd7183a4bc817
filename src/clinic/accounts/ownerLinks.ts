import { join } from 'node:path';
import { z } from 'zod';
import { leaveNote, takeNotes } from '../../files/leftNotes.js';
import { notifyOfAccountChange } from '../../reminders/accountNews.js';
import type { ReminderSecrets } from '../../reminders/secrets.js';
import { isKnownAccountLink, ownersOf, saveAccountLink } from '../../store/accounts/accountLinks.js';
import { addAuditEntry } from '../../store/accounts/audit.js';
import { ownerById } from '../../store/accounts/clinicians.js';
import type { Store } from '../../store/engine/openStore.js';
import { accountLinkMs } from './accountLinks.js';

/** A folder between the command on the machine and the service, which alone holds a database in one file. */
const folderName = 'owner-links';
const lookEveryMs = 5_000;

/** A link for an owner who is locked out, as the command hands it to the service: without its secret. */
const ownerLinkSchema = z.strictObject({
  tokenHash: z.string().regex(/^[0-9a-f]{64}$/),
  clinicianId: z.string().min(1).max(100),
  clearsSecondStep: z.boolean(),
  /** When it was made, epoch milliseconds. */
  atMs: z.int(),
});
export type OwnerLink = z.infer<typeof ownerLinkSchema>;

export type OwnerLinkParts = {
  store: Store;
  reminderSecrets: ReminderSecrets;
  /** Whether owners can be told by mail. */
  sendsMail: boolean;
  now: () => number;
};

/**
 * Leaves a link for the service, which may run as another user than whoever asks for it.
 *
 * @throws StillcountError kind `work` when it cannot be written, or not be handed over
 */
export function queueOwnerLink(dataFolder: string, link: OwnerLink): Promise<void> {
  return leaveNote(dataFolder, folderName, link);
}

/**
 * Lets a link for an owner work, notes it on the trail and has every owner of the clinic told.
 *
 * @returns false when there is no such owner any more, or its time is over
 */
export async function activateOwnerLink(parts: OwnerLinkParts, link: OwnerLink): Promise<boolean> {
  const { store, reminderSecrets, sendsMail, now } = parts;
  const nowMs = now();
  const { tokenHash, clinicianId, clearsSecondStep } = link;
  // A clock that was wrong when it was made gives it no longer time.
  const expiresAtMs = Math.min(link.atMs, nowMs) + accountLinkMs;
  if (expiresAtMs <= nowMs) return false;
  return store.write(async (db) => {
    if (await isKnownAccountLink(db, tokenHash)) return true;
    const owner = await ownerById(db, clinicianId);
    if (owner === null) return false;
    await saveAccountLink(db, {
      ...{ tokenHash, clinicianId, madeById: null, clearsSecondStep },
      ...{ nowMs, expiresAtMs },
    });
    const entry = { clinicId: owner.clinicId, clinicianId: null, patientId: null, atMs: nowMs };
    await addAuditEntry(db, { ...entry, subject: clinicianId, action: 'owner-link-made' });
    if (!sendsMail) return true;
    for (const each of await ownersOf(db, owner.clinicId)) {
      const account = { ...each, clinicId: owner.clinicId };
      await notifyOfAccountChange(db, account, { news: 'owner-link', nowMs }, reminderSecrets);
    }
    return true;
  });
}

/** Takes in what the command has left; a link that cannot be read or kept now holds up no other. */
async function takeOwnerLinks(
  dataFolder: string,
  parts: OwnerLinkParts,
  onFailure: (error: unknown) => void,
): Promise<void> {
  const use = async (text: string) => {
    const link = readOwnerLink(text);
    if (link !== null) await activateOwnerLink(parts, link);
  };
  await takeNotes(join(dataFolder, folderName), use, onFailure);
}

/**
 * Looks for links now and every few seconds; on an interval, which no setting of the clock stops.
 *
 * @returns a function that ends it and waits for what is under way
 */
export async function watchOwnerLinks(
  dataFolder: string,
  parts: OwnerLinkParts,
  onFailure: (what: string, error: unknown) => void,
): Promise<() => Promise<void>> {
  let inFlight: Promise<unknown> | null = null;
  const look = async () => {
    if (inFlight !== null) return;
    const failed = (error: unknown) => onFailure('a link for an owner not taken in', error);
    inFlight = takeOwnerLinks(dataFolder, parts, failed)
      .catch(failed)
      .finally(() => {
        inFlight = null;
      });
    await inFlight;
  };
  await look();
  const timer = setInterval(look, lookEveryMs);
  timer.unref();
  return async () => {
    clearInterval(timer);
    await inFlight;
  };
}

function readOwnerLink(text: string): OwnerLink | null {
  try {
    return ownerLinkSchema.parse(JSON.parse(text));
  } catch {
    // A file that holds no link is taken away like one that was read.
    return null;
  }
}
