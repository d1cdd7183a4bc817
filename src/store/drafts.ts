import type { Db } from './openStore.js';

/** Whose unsigned work, on what. `prescriptionId` is null for a new prescription. */
export type DraftPlace = { clinicianId: string; patientId: string; prescriptionId: string | null };
export type Draft = { content: string; basedOnNumber: number; updatedAtMs: number };

export async function keepDraft(db: Db, place: DraftPlace, draft: Draft): Promise<void> {
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

export async function dropDraft(db: Db, place: DraftPlace): Promise<void> {
  const columns = columnsOf(place);
  await db
    .deleteFrom('draft')
    .where('clinicianId', '=', columns.clinicianId)
    .where('patientId', '=', columns.patientId)
    .where('prescriptionId', '=', columns.prescriptionId)
    .execute();
}

function columnsOf(place: DraftPlace) {
  return { ...place, prescriptionId: place.prescriptionId ?? '' };
}
