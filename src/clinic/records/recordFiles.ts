import { ZipWriter } from '../../files/zip.js';
import type { Clinic } from '../../store/accounts/clinics.js';
import type { Patient } from '../../store/people/patients.js';
import { recordRows } from '../../store/records/record.js';
import { isoDay } from '../../text/dates.js';
import { fhirOf } from './fhirRecord.js';
import { heardTables } from './heardTables.js';
import { peopleTables } from './peopleTables.js';
import { programTables } from './programTables.js';
import type { RecordContext } from './readRecord.js';
import type { RecordTableFile } from './table.js';

/** Every table of a record. */
export function recordTables(context: RecordContext): RecordTableFile[] {
  return [...peopleTables(context), ...programTables(context), ...heardTables(context)];
}

/** Puts into words what an archive holds: whose record, of which clinic and day, and its tables. */
export type RecordReadme = (of: {
  patient: Patient;
  clinic: Clinic;
  day: string;
  tables: string[];
}) => string;

/** A whole record in one ZIP archive: what it is, a FHIR bundle, every table as CSV, notes as text. */
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

/** What a file is called where it is kept: nothing about the person. */
export function fileNameOf({ nowMs, zone }: { nowMs: number; zone: string }, ending: string): string {
  return `record-${isoDay(nowMs, zone)}.${ending}`;
}
