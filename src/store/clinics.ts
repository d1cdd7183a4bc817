import type { Db } from './openStore.js';

/** Whom a listener calls. */
export type ClinicContact = { phone: string; emergencyNumber: string };
export type Clinic = ClinicContact & { name: string; zone: string };

export async function clinicById(db: Db, id: string): Promise<Clinic> {
  return db
    .selectFrom('clinic')
    .select(['name', 'zone', 'phone', 'emergencyNumber'])
    .where('id', '=', id)
    .executeTakeFirstOrThrow();
}

export async function changeClinicContact(db: Db, id: string, contact: ClinicContact): Promise<void> {
  await db.updateTable('clinic').set(contact).where('id', '=', id).execute();
}
