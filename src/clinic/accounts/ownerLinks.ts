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

/** A folder shared by the command and the service: a database file can be open in only one of them. */
const folderName = 'owner-links';
const lookEveryMs = 5_000;

/** A link for a locked-out owner, as the command passes it to the service: without its secret. */
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
  /** Whether owners can be notified by email. */
  sendsMail: boolean;
  now: () => number;
};

/**
 * Leaves a link for the service, which may run as a different user than the command.
 *
 * @throws StillcountError kind `work` if it cannot be written or handed over
 */
export function queueOwnerLink(dataFolder: string, link: OwnerLink): Promise<void> {
  return leaveNote(dataFolder, folderName, link);
}

/**
 * Activates an owner's link, records it in the activity log and notifies every owner of the clinic.
 *
 * @returns false if there is no such owner any longer, or the link has expired
 */
export async function activateOwnerLink(parts: OwnerLinkParts, link: OwnerLink): Promise<boolean> {
  const { store, reminderSecrets, sendsMail, now } = parts;
  const nowMs = now();
  const { tokenHash, clinicianId, clearsSecondStep } = link;
  // A wrong clock at the time it was made does not extend its life.
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

/** Takes in the links that the command has left; one that cannot be read or stored does not hold up the others. */
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
 * Looks for links now and every few seconds, on an interval that clock changes do not affect.
 *
 * @returns a function that stops it and waits for work in progress
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
    // A file without a valid link is removed like one that was read.
    return null;
  }
}
