import { randomUUID } from 'node:crypto';
import { clearUnplayable } from '../attention/notPlayed.js';
import { scheduleAfterChange } from '../attention/patientChanged.js';
import { isWholeProgram, sealProgram } from '../attention/signed.js';
import type { Db } from '../engine/db.js';
import { programChecksum, versionChecksum } from '../schema/migrations/signedChecksums.js';
import { programById, rowColumns } from './prescriptions.js';

export type Signing = {
  title: string;
  content: string;
  /** The interview that it is based on. */
  screeningId: string | null;
  reason: string;
  signedBy: string;
  nowMs: number;
};

/**
 * Creates a prescription with its first version, for a patient whom the caller has checked to be of the clinic. Runs in
 * a transaction that has locked the patient.
 *
 * @param workId identifies the draft it comes from; each draft creates one prescription
 */
export async function createPrescription(
  db: Db,
  patientId: string,
  signing: Signing,
  workId: string | null = null,
): Promise<string> {
  const id = randomUUID();
  const { nowMs: createdAtMs } = signing;
  const title = asKept(signing.title);
  const row = { id, patientId, title, state: 'active', newestVersion: 1, createdAtMs } as const;
  await db
    .insertInto('prescription')
    .values({ ...row, workId, checksum: programChecksum(row) })
    .execute();
  await insertVersion(db, { id, patientId }, 1, signing);
  await scheduleAfterChange(db, patientId);
  return id;
}

/**
 * Rule SIGN-7: signs the next version on top of the one the draft is based on, and on no other. Runs in a transaction.
 *
 * @returns the new number, or null if a newer version was signed in the meantime, or the program is damaged; nothing is
 *   stored then
 */
export async function signVersion(
  db: Db,
  prescriptionId: string,
  basedOnNumber: number,
  signing: Signing,
): Promise<number | null> {
  const number = basedOnNumber + 1;
  const before = await programById(db, prescriptionId);
  if (before === undefined || !isWholeProgram(before)) return null;
  const signed = await db
    .updateTable('prescription')
    .set({ newestVersion: number, title: asKept(signing.title) })
    .where('id', '=', prescriptionId)
    .where('newestVersion', '=', basedOnNumber)
    .where('state', '!=', 'ended')
    .returning(rowColumns)
    .executeTakeFirst();
  if (signed === undefined) return null;
  await sealProgram(db, signed);
  await insertVersion(db, signed, number, signing);
  await clearUnplayable(db, prescriptionId, signing.nowMs);
  await scheduleAfterChange(db, signed.patientId);
  return number;
}

async function insertVersion(
  db: Db,
  { id: prescriptionId, patientId }: { id: string; patientId: string },
  number: number,
  { content, screeningId, reason: typed, signedBy, nowMs: signedAtMs }: Signing,
) {
  const reason = asKept(typed);
  const row = { prescriptionId, number, content, screeningId, reason, signedBy, signedAtMs };
  await db
    .insertInto('prescriptionVersion')
    .values({ ...row, checksum: versionChecksum({ ...row, patientId }) })
    .execute();
}

/** Half of a surrogate pair, which no database returns unchanged, becomes U+FFFD before signing. */
function asKept(text: string): string {
  return Buffer.from(text, 'utf8').toString('utf8');
}
