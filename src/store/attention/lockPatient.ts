import type { Db } from '../engine/openStore.js';

/**
 * Lets no other transaction change what hangs on a patient until this one has ended, on a server with many
 * connections too.
 */
export async function lockPatient(db: Db, id: string): Promise<void> {
  await db
    .updateTable('patient')
    .set(({ ref }) => ({ revision: ref('revision') }))
    .where('id', '=', id)
    .execute();
}
