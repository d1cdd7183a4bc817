import type { Selectable } from 'kysely';
import { type SignedContent, verifySignedContent } from '../../store/attention/signed.js';
import { allRecordRows, recordRows } from '../../store/records/record.js';
import type { Database } from '../../store/schema/schema.js';
import type { RecordContext } from './readRecord.js';

export type VersionOfRecord = Omit<Selectable<Database['prescriptionVersion']>, 'content' | 'checksum'> &
  SignedContent;

/** All versions of a patient's programs, without the content of damaged ones. */
export async function* signedVersions({
  service: { store },
  patient,
}: Pick<RecordContext, 'service' | 'patient'>): AsyncGenerator<VersionOfRecord> {
  const programs = new Map(
    (await allRecordRows(store, 'prescription', patient.id)).map((row) => [row.id, row]),
  );
  for await (const { checksum, ...row } of recordRows(store, 'prescriptionVersion', patient.id)) {
    const program = programs.get(row.prescriptionId);
    // Prescribed since.
    if (program === undefined) continue;
    const signed = verifySignedContent(
      { ...program, programChecksum: program.checksum },
      { ...row, checksum },
    );
    yield { ...row, ...signed };
  }
}
