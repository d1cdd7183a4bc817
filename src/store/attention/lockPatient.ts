import type { Db } from '../engine/openStore.js';

/**
 * Lets no other transaction change what hangs on a patient until this one has ended, on a server with many
 * connections too.
 *
 * @param clinicId where it is not known yet whose patient it is: none of another clinic is locked
 */
export async function lockPatient(db: Db, id: string, clinicId?: string): Promise<void> {
  const locking = db
    .updateTable('patient')
    .set(({ ref }) => ({ revision: ref('revision') }))
    .where('id', '=', id);
  await (clinicId === undefined ? locking : locking.where('clinicId', '=', clinicId)).execute();
}
