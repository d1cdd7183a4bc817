import { ZipWriter } from '../../files/zip.js';
import type { Clinic } from '../../store/accounts/clinics.js';
import type { Patient } from '../../store/people/chart.js';
import { recordRows } from '../../store/records/record.js';
import { isoDay } from '../../text/dates.js';
import { fhirOf } from './fhirRecord.js';
import { heardTables } from './heardTables.js';
import { peopleTables } from './peopleTables.js';
import { programTables } from './programTables.js';
import type { RecordContext } from './readRecord.js';
import type { RecordTableFile } from './table.js';

/** All tables of a record. */
export function recordTables(context: RecordContext): RecordTableFile[] {
  return [...peopleTables(context), ...programTables(context), ...heardTables(context)];
}

/** Describes an archive in words: its patient, clinic, day and tables. */
export type RecordReadme = (of: {
  patient: Patient;
  clinic: Clinic;
  day: string;
  tables: string[];
}) => string;

/** A full record as one ZIP archive: a description, a FHIR bundle, all tables as CSV, and notes as text. */
export async function recordZip(context: RecordContext, readme: RecordReadme): Promise<Buffer> {
  const zip = new ZipWriter(context.nowMs);
  const tables = recordTables(context);
  await zip.add('README.txt', [readmeOf(context, tables, readme)]);
  await zip.add('fhir-bundle.json', [`${JSON.stringify(await fhirOf(context), null, 2)}\n`]);
  for (const { name, text } of tables) await zip.add(`csv/${name}.csv`, text());
  let count = 0;
  for await (const note of recordRows(context.service.store, 'progressNote', context.patient.id)) {
    count += 1;
    await zip.add(`notes/${String(count).padStart(3, '0')}-${note.fromDay}-${note.untilDay}.txt`, [
      note.text,
    ]);
  }
  return zip.end();
}

function readmeOf(
  { clinic, patient, nowMs }: RecordContext,
  tables: readonly RecordTableFile[],
  readme: RecordReadme,
): string {
  return readme({
    patient,
    clinic,
    day: isoDay(nowMs, clinic.zone),
    tables: tables.map(({ name }) => name),
  });
}

/** The file name: nothing about the patient. */
export function fileNameOf({ nowMs, zone }: { nowMs: number; zone: string }, ending: string): string {
  return `record-${isoDay(nowMs, zone)}.${ending}`;
}
