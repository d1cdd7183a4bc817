import type { Db } from '../engine/openStore.js';

/** Used in place of a prescription's id for an unfinished precaution interview. */
export const interviewDraft = 'screening';

/** The owner and subject of a draft. `prescriptionId` is null for a new prescription. */
export type DraftPlace = { clinicianId: string; patientId: string; prescriptionId: string | null };
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
