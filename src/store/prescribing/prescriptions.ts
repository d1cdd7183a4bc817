import { randomUUID } from 'node:crypto';
import { scheduleAfterChange } from '../attention/patientChanged.js';
import { isWholeProgram, type ProgramFacts, programColumns } from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';
import { programChecksum, versionChecksum } from '../schema/migrations/signedChecksums.js';
import type { PrescriptionState } from '../schema/prescribingSchema.js';

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

/**
 * Pauses, resumes or ends; an ended program stays ended, and a damaged one is not resumed. Runs in a transaction.
 *
 * @returns false if the step is not possible from the current state
 */
export async function changeState(
  db: Db,
  change: {
    prescriptionId: string;
    state: PrescriptionState;
    clinicianId: string;
    reason: string;
    nowMs: number;
  },
): Promise<boolean> {
  const before = await programById(db, change.prescriptionId);
  if (before === undefined) return false;
  const isWhole = isWholeProgram(before);
  if (!isWhole && change.state === 'active') return false;
  let changing = db
    .updateTable('prescription')
    .set({ state: change.state })
    .where('id', '=', change.prescriptionId);
  // A damaged program does not reveal its status.
  if (isWhole) changing = changing.where('state', 'not in', ['ended', change.state]);
  const changed = await changing.returning(rowColumns).executeTakeFirst();
  if (changed === undefined) return false;
  // Damage stays recorded until nothing can be played any longer.
  if (isWhole || change.state === 'ended') await sealProgram(db, changed);
  await db
    .insertInto('prescriptionState')
    .values({
      id: randomUUID(),
      prescriptionId: change.prescriptionId,
      state: change.state,
      clinicianId: change.clinicianId,
      reason: change.reason,
      atMs: change.nowMs,
    })
    .execute();
  await clearUnplayable(db, change.prescriptionId, change.nowMs);
  await scheduleAfterChange(db, changed.patientId);
  return true;
}

/**
 * A program can be played again, or is no longer active: a version that was just signed was read and laid out as a
 * whole, and paused or ended programs play nothing. What was due in the meantime stays excused.
 */
export async function clearUnplayable(db: Db, prescriptionId: string, nowMs: number): Promise<void> {
  await db
    .updateTable('notPlayable')
    .set({ untilMs: nowMs })
    .where('prescriptionId', '=', prescriptionId)
    .where('untilMs', 'is', null)
    .execute();
}

/** The columns covered by a program's checksum, as they are written. */
const rowColumns = ['id', 'patientId', 'title', 'state', 'newestVersion', 'createdAtMs'] as const;

function programById(db: Db, id: string): Promise<ProgramFacts | undefined> {
  return db.selectFrom('prescription').select(programColumns).where('id', '=', id).executeTakeFirst();
}

/** Writes the checksum of a program's row in its current state. Runs in the transaction that changed the row. */
async function sealProgram(db: Db, row: Omit<ProgramFacts, 'programChecksum'>): Promise<void> {
  await db
    .updateTable('prescription')
    .set({ checksum: programChecksum(row) })
    .where('id', '=', row.id)
    .execute();
}

/** The prescription created from a draft, or null. */
export async function findPrescriptionOfWork(
  db: Db,
  workId: string | null,
  patientId: string,
): Promise<string | null> {
  if (workId === null) return null;
  const found = await db
    .selectFrom('prescription')
    .select('id')
    .where('workId', '=', workId)
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  return found?.id ?? null;
}

/** Used in place of a prescription's id for an unfinished precaution interview. */
export const interviewDraft = 'screening';

/** The owner and subject of a draft. `prescriptionId` is null for a new prescription. */
export type DraftPlace = { clinicianId: string; patientId: string; prescriptionId: string | null };

/** Content not yet signed, and the version that it started from. */
export type Draft = { content: string; basedOnNumber: number; updatedAtMs: number };

/** The key of a clinician's draft for a patient. */
export function draftPlace(
  clinicianId: string,
  { patient, prescriptionId }: { patient: { id: string }; prescriptionId: string | null },
): DraftPlace {
  return { clinicianId, patientId: patient.id, prescriptionId };
}

export async function writeDraft(db: Db, place: DraftPlace, draft: Draft): Promise<void> {
  await db
    .insertInto('draft')
    .values({ ...columnsOf(place), ...draft })
    .onConflict((conflict) =>
      conflict.columns(['clinicianId', 'patientId', 'prescriptionId']).doUpdateSet(draft),
    )
    .execute();
}

export async function draftAt(db: Db, place: DraftPlace): Promise<Draft | null> {
  const columns = columnsOf(place);
  const found = await db
    .selectFrom('draft')
    .select(['content', 'basedOnNumber', 'updatedAtMs'])
    .where('clinicianId', '=', columns.clinicianId)
    .where('patientId', '=', columns.patientId)
    .where('prescriptionId', '=', columns.prescriptionId)
    .executeTakeFirst();
  return found ?? null;
}

/** A clinician's drafts for patients of her clinic, newest first, up to ten. */
export async function draftsOf(
  db: Db,
  { clinicianId, clinicId }: { clinicianId: string; clinicId: string },
): Promise<{ patientId: string; patientName: string; prescriptionId: string | null; updatedAtMs: number }[]> {
  const rows = await db
    .selectFrom('draft')
    .innerJoin('patient', 'patient.id', 'draft.patientId')
    .select(['draft.patientId', 'draft.prescriptionId', 'draft.updatedAtMs', 'patient.name as patientName'])
    .where('draft.clinicianId', '=', clinicianId)
    .where('patient.clinicId', '=', clinicId)
    .orderBy('draft.updatedAtMs', 'desc')
    .limit(10)
    .execute();
  return rows.map((row) => ({ ...row, prescriptionId: row.prescriptionId || null }));
}

export async function deleteDraft(db: Db, place: DraftPlace): Promise<void> {
  const columns = columnsOf(place);
  await db
    .deleteFrom('draft')
    .where('clinicianId', '=', columns.clinicianId)
    .where('patientId', '=', columns.patientId)
    .where('prescriptionId', '=', columns.prescriptionId)
    .execute();
}

/** All clinicians' drafts of a prescription. */
export async function deleteDrafts(db: Db, prescriptionId: string): Promise<void> {
  await db.deleteFrom('draft').where('prescriptionId', '=', prescriptionId).execute();
}

function columnsOf(place: DraftPlace) {
  return { ...place, prescriptionId: place.prescriptionId ?? '' };
}
