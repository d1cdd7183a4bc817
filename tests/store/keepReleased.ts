/**
 * Writes what a database of the newest schema, or of the step that is named, holds into `released/`, to be rolled
 * forward for ever after. Run it once when a schema is released, for each of its steps:
 *
 *     npx tsx tests/store/keepReleased.ts [STEP]
 */

import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openStore } from '../../src/store/engine/openStore.js';
import { createPrescription } from '../../src/store/prescribing/prescriptions.js';
import { Sqlite } from '../sqlite.js';
import { releasedSteps } from './databases.js';
import { addEarlierRows } from './earlierRows.js';
import { makeClinic, makePatient } from './people.js';

const folder = await mkdtemp(join(tmpdir(), 'stillcount-released-'));
const file = join(folder, 'clinic.db');
const step = process.argv[2] ?? (await releasedSteps()).at(-1) ?? 'none';
const store = await openStore({ kind: 'sqlite', file }, step);
const nowMs = Date.UTC(2026, 10, 25);
await store.write(async (db) => {
  const made = await makeClinic(db, nowMs);
  const patientId = await makePatient(db, made.clinicId, nowMs);
  const signing = {
    title: 'Morning',
    content: '{}',
    screeningId: null,
    reason: 'first program',
    signedBy: made.clinicianId,
    nowMs,
  };
  await createPrescription(db, patientId, signing);
});
await store.close();
const database = new Sqlite(file);
addEarlierRows(database);
const objects = database
  .prepare<[], { type: string; name: string; sql: string }>(
    `select type, name, sql from sqlite_master where sql is not null and name not like 'sqlite_%'
     order by case type when 'table' then 0 when 'index' then 1 else 2 end, rowid`,
  )
  .all();
const isTable = ({ type }: { type: string }) => type === 'table';
const rows = objects.filter(isTable).flatMap(({ name }) =>
  database
    .prepare<[], Record<string, unknown>>(`select * from "${name}"`)
    .all()
    .map((row) => `insert into "${name}" values (${Object.values(row).map(literal).join(', ')});`),
);
const texts = [
  ...objects.filter(isTable).map(({ sql }) => `${sql};`),
  ...rows,
  ...objects.filter((object) => !isTable(object)).map(({ sql }) => `${sql};`),
];
database.close();
await writeFile(join(import.meta.dirname, 'released', `${step}.sql`), `${texts.join('\n')}\n`);
await rm(folder, { recursive: true });

function literal(value: unknown): string {
  if (value === null) return 'null';
  return typeof value === 'number' ? String(value) : `'${String(value).replaceAll("'", "''")}'`;
}
