import type { Db } from '../engine/openStore.js';

/**
 * Locks everything that belongs to a patient until the transaction ends, also on a server with many connections.
 *
 * @param clinicId if it is not yet known whose patient it is: none of another clinic is locked
 */
export async function lockPatient(db: Db, id: string, clinicId?: string): Promise<void> {
  const locking = db
    .updateTable('patient')
    .set(({ ref }) => ({ revision: ref('revision') }))
    .where('id', '=', id);
  await (clinicId === undefined ? locking : locking.where('clinicId', '=', clinicId)).execute();
}
