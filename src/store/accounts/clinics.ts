import type { Db } from '../engine/openStore.js';

/** Whom a listener calls. */
export type ClinicContact = { phone: string; emergencyNumber: string };
/** With the text on when it reads notes; empty for the default. */
export type Clinic = ClinicContact & { name: string; zone: string; notesReading: string };

export async function clinicById(db: Db, id: string): Promise<Clinic> {
  return db
    .selectFrom('clinic')
    .select(['name', 'zone', 'phone', 'emergencyNumber', 'notesReading'])
    .where('id', '=', id)
    .executeTakeFirstOrThrow();
}

export async function changeClinicContact(
  db: Db,
  id: string,
  contact: ClinicContact & { notesReading?: string | undefined },
): Promise<void> {
  await db.updateTable('clinic').set(contact).where('id', '=', id).execute();
}

/**
 * Locks the clinic until the transaction ends, also on a server with many connections. A transaction that also locks a
 * patient locks the clinic first.
 */
export async function lockClinic(db: Db, id: string): Promise<void> {
  await db
    .updateTable('clinic')
    .set(({ ref }) => ({ phone: ref('phone') }))
    .where('id', '=', id)
    .execute();
}
