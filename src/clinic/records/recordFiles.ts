import { ZipWriter } from '../../files/zip.js';
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

/** A whole record in one ZIP archive: what it is, a FHIR bundle, every table as CSV, notes as text. */
export async function recordZip(context: RecordContext): Promise<Buffer> {
  const zip = new ZipWriter(context.nowMs);
  const tables = recordTables(context);
  await zip.add('README.txt', [readmeOf(context, tables)]);
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
  { service, clinic, patient, nowMs }: RecordContext,
  tables: readonly RecordTableFile[],
): string {
  return service.pages.part('record-readme', {
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
