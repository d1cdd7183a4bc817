import { randomUUID } from 'node:crypto';
import type { Db } from '../../src/store/engine/openStore.js';

/** Whose rows they are, by whom, and the text that stands in all of them. */
export type FollowUpOf = {
  clinicId: string;
  clinicianId: string;
  patientId: string;
  prescriptionId: string;
  /** Whose own the measure is; null for one of the whole clinic. */
  measureOf: string | null;
  text: string;
  nowMs: number;
};

/** One row in each table that clinicians fill in the follow-up. */
export async function addFollowUpRows(db: Db, of: FollowUpOf): Promise<void> {
  const { clinicId, clinicianId, patientId, prescriptionId, measureOf, text, nowMs } = of;
  const by = { clinicianId, atMs: nowMs };
  const measureTakenId = randomUUID();
  const taken = { measureId: 'height', value: 161.5, entered: text, takenOn: '2026-11-25', note: text };
  await db
    .insertInto('measureTaken')
    .values({ ...by, ...taken, id: measureTakenId, patientId })
    .execute();
  await db
    .insertInto('measureWithdrawn')
    .values({ ...by, measureTakenId, reason: text })
    .execute();
  const scale = { unit: '', least: 0, most: 10, better: 'higher', endedAtMs: null } as const;
  await db
    .insertInto('ownMeasure')
    .values({
      ...scale,
      id: randomUUID(),
      clinicId,
      clinicianId,
      patientId: measureOf,
      name: text,
      createdAtMs: nowMs,
    })
    .execute();
  const about = { patientId, prescriptionId, versionNumber: 1, exerciseIndex: null };
  const said = {
    advice: JSON.stringify({ text }),
    answer: 'declined',
    reason: text,
    newVersionNumber: null,
  } as const;
  await db
    .insertInto('adviceAnswer')
    .values({ ...by, ...about, ...said, id: randomUUID() })
    .execute();
  const days = { fromDay: '2026-11-01', untilDay: '2026-11-25' };
  await db
    .insertInto('progressNote')
    .values({ ...by, ...days, id: randomUUID(), patientId, text })
    .execute();
}
