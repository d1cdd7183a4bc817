import type { Db } from '../engine/openStore.js';
import { countUnreadNotes } from '../followup/notes.js';
import type { AttentionKind } from '../schema/peopleSchema.js';

/** What happened at a clinic since a given time, and how many patients wait for a clinician now, by reason. */
export type Week = {
  clinicName: string;
  /** How many patients started a session, and how many sessions were finished. */
  listened: number;
  finished: number;
  waiting: Partial<Record<AttentionKind, number>>;
  /** Unread notes, and how many of these may name a warning sign. */
  notes: { unread: number; urgent: number };
};

export async function readWeek(db: Db, clinicId: string, sinceMs: number): Promise<Week> {
  const { name } = await db
    .selectFrom('clinic')
    .select('name')
    .where('id', '=', clinicId)
    .executeTakeFirstOrThrow();
  const steps = db
    .selectFrom('listeningStep')
    .innerJoin('patient', 'patient.id', 'listeningStep.patientId')
    .where('patient.clinicId', '=', clinicId)
    .where('listeningStep.atMs', '>=', sinceMs);
  const listened = await steps
    .select(({ fn }) => fn.count('listeningStep.patientId').distinct().as('count'))
    .executeTakeFirst();
  const finished = await steps
    .select(({ fn }) => fn.count('listeningStep.listeningId').distinct().as('count'))
    .where('listeningStep.step', '=', 'finished')
    .executeTakeFirst();
  const waiting = await db
    .selectFrom('attention')
    .select(['kind', ({ fn }) => fn.count('patientId').distinct().as('count')])
    .where('clinicId', '=', clinicId)
    .groupBy('kind')
    .execute();
  return {
    clinicName: name,
    listened: Number(listened?.count ?? 0),
    finished: Number(finished?.count ?? 0),
    waiting: Object.fromEntries(waiting.map(({ kind, count }) => [kind, Number(count)])),
    notes: await countUnreadNotes(db, clinicId),
  };
}

/** Whether a clinician wants the weekly summary. */
export async function wantsDigest(db: Db, clinicianId: string): Promise<boolean> {
  const found = await db
    .selectFrom('clinician')
    .select('wantsDigest')
    .where('id', '=', clinicianId)
    .where('endedAtMs', 'is', null)
    .executeTakeFirst();
  return found?.wantsDigest === 1;
}

/** The clinicians who want the weekly summary, with the zone of their clinic. */
export async function listDigestReaders(
  db: Db,
): Promise<{ clinicianId: string; clinicId: string; email: string; zone: string }[]> {
  return db
    .selectFrom('clinician')
    .innerJoin('clinic', 'clinic.id', 'clinician.clinicId')
    .select(['clinician.id as clinicianId', 'clinician.clinicId', 'clinician.email', 'clinic.zone'])
    .where('clinician.wantsDigest', '=', 1)
    .where('clinician.endedAtMs', 'is', null)
    .orderBy('clinician.id')
    .execute();
}

/** The members of a clinic who can answer a warning sign. */
export async function listWarningReaders(
  db: Db,
  clinicId: string,
): Promise<{ clinicianId: string; email: string }[]> {
  return db
    .selectFrom('clinician')
    .select(['id as clinicianId', 'email'])
    .where('clinicId', '=', clinicId)
    .where('role', '!=', 'read-only')
    .where('endedAtMs', 'is', null)
    .orderBy('id')
    .execute();
}
