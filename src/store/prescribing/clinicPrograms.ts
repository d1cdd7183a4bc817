import { randomUUID } from 'node:crypto';
import type { Db } from '../engine/openStore.js';

/** A clinic program; `content` is JSON text of a prescription's content. */
export type ClinicProgram = { id: string; title: string; content: string; createdAtMs: number; by: string };

export async function saveClinicProgram(
  db: Db,
  program: { clinicId: string; title: string; content: string; clinicianId: string; nowMs: number },
): Promise<string> {
  const { nowMs, ...columns } = program;
  const id = randomUUID();
  await db
    .insertInto('clinicProgram')
    .values({ id, ...columns, createdAtMs: nowMs, endedAtMs: null })
    .execute();
  return id;
}

/** The clinic programs of a clinic, by title. */
export async function clinicProgramsOf(db: Db, clinicId: string): Promise<ClinicProgram[]> {
  return db
    .selectFrom('clinicProgram')
    .innerJoin('clinician', 'clinician.id', 'clinicProgram.clinicianId')
    .select([
      'clinicProgram.id as id',
      'clinicProgram.title as title',
      'clinicProgram.content as content',
      'clinicProgram.createdAtMs as createdAtMs',
      'clinician.name as by',
    ])
    .where('clinicProgram.clinicId', '=', clinicId)
    .where('clinicProgram.endedAtMs', 'is', null)
    .orderBy('title')
    .orderBy('id')
    .execute();
}

/** Removes a clinic program; prescriptions started from it stay as they are. @returns false if there is none */
export async function endClinicProgram(
  db: Db,
  clinicId: string,
  { id, nowMs }: { id: string; nowMs: number },
): Promise<boolean> {
  const result = await db
    .updateTable('clinicProgram')
    .set({ endedAtMs: nowMs })
    .where('id', '=', id)
    .where('clinicId', '=', clinicId)
    .where('endedAtMs', 'is', null)
    .executeTakeFirst();
  return result.numUpdatedRows === 1n;
}
