import type { Db } from '../engine/openStore.js';

/**
 * The programs of a patient, each with its newest version and the time it was last paused, resumed or ended; a query to
 * be filtered and extended.
 */
export function newestPrograms(db: Db, patientId: string) {
  return db
    .selectFrom('prescription')
    .innerJoin('prescriptionVersion', (join) =>
      join
        .onRef('prescriptionVersion.prescriptionId', '=', 'prescription.id')
        .onRef('prescriptionVersion.number', '=', 'prescription.newestVersion'),
    )
    .select(['prescription.id', 'prescription.state', 'prescriptionVersion.signedAtMs'])
    .select(({ selectFrom }) =>
      selectFrom('prescriptionState')
        .select(({ fn }) => fn.max('prescriptionState.atMs').as('atMs'))
        .whereRef('prescriptionState.prescriptionId', '=', 'prescription.id')
        .as('changedAtMs'),
    )
    .where('prescription.patientId', '=', patientId);
}
