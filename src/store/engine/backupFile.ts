import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { sql } from 'kysely';
import { z } from 'zod';
import { inputError } from '../../errors/stillcountError.js';
import { migrationsFor } from '../schema/migrations.js';
import type { Database } from '../schema/schema.js';
import type { Db } from './db.js';

/**
 * A backup is one text file, the same for both kinds of database, so that it can also move a clinic from one to the
 * other: a header line, a line for each row, and a last line with their number and the SHA-256 of all lines before it.
 * Sign-ins, open invitations and one-time links are left out: after a restore everyone must sign in again.
 */
const headSchema = z.strictObject({ format: z.literal('stillcount-backup/1'), step: z.string() });
const tables = [
  'clinic',
  'clinician',
  'recoveryCode',
  'patient',
  'prescription',
  'prescriptionVersion',
  'prescriptionState',
  'draft',
  'auditEntry',
  'screening',
  'attention',
  'caregiver',
  'consent',
  'clinicProgram',
  'accessKey',
  'listeningLink',
  'listeningToken',
  'listeningStep',
  'notToday',
  'checkIn',
  'note',
  'noteRead',
  'warning',
  'warningAnswer',
  'feedDelivery',
  'reminderRules',
  'careBreak',
  'contact',
  'reminderWatch',
  'delivery',
  'serviceSecret',
  'listened',
  'measureTaken',
  'measureWithdrawn',
  'ownMeasure',
  'adviceAnswer',
  'progressNote',
  'adviceWatch',
  'notPlayable',
  'erasure',
] as const satisfies readonly (keyof Database)[];
export const rowSchema = z.strictObject({
  table: z.enum(tables),
  row: z.record(z.string(), z.union([z.string(), z.number(), z.null()])),
});
const endSchema = z.strictObject({ rows: z.int(), sha256: z.string() });

/** The order of a table's rows, so that they can be read in parts. */
const orderOf = {
  clinic: ['id'],
  clinician: ['id'],
  recoveryCode: ['clinicianId', 'codeHash'],
  patient: ['id'],
  prescription: ['id'],
  prescriptionVersion: ['prescriptionId', 'number'],
  prescriptionState: ['id'],
  draft: ['clinicianId', 'patientId', 'prescriptionId'],
  auditEntry: ['sequence'],
  screening: ['id'],
  attention: ['patientId', 'kind', 'subject'],
  caregiver: ['id'],
  consent: ['id'],
  clinicProgram: ['id'],
  accessKey: ['id'],
  listeningLink: ['id'],
  listeningToken: ['tokenHash'],
  listeningStep: ['id'],
  notToday: ['id'],
  checkIn: ['id'],
  note: ['checkInId'],
  noteRead: ['checkInId'],
  warning: ['id'],
  warningAnswer: ['warningId'],
  feedDelivery: ['id'],
  reminderRules: ['patientId'],
  careBreak: ['id'],
  contact: ['id'],
  reminderWatch: ['patientId'],
  delivery: ['id'],
  serviceSecret: ['name'],
  listened: ['patientId', 'listeningId'],
  measureTaken: ['id'],
  measureWithdrawn: ['measureTakenId'],
  ownMeasure: ['id'],
  adviceAnswer: ['id'],
  progressNote: ['id'],
  adviceWatch: ['patientId'],
  notPlayable: ['prescriptionId', 'fromMs'],
  erasure: ['patientId'],
} as const;
const rowsAtOnce = 2_000;

/** A backup of everything in a database. Runs in a transaction, so that it is consistent. */
export async function* backupLines(db: Db): AsyncIterable<Buffer> {
  const hash = createHash('sha256');
  let rows = 0;
  const line = (value: object) => {
    const bytes = Buffer.from(`${JSON.stringify(value)}\n`);
    hash.update(bytes);
    return bytes;
  };
  const { step, present } = await shapeOf(db);
  yield line({ format: 'stillcount-backup/1', step });
  for (const table of tables.filter((each) => present.has(each))) {
    for (let offset = 0; ; offset += rowsAtOnce) {
      const order = sql.join(orderOf[table].map((column) => sql.ref(column)));
      const part = await sql<Record<string, unknown>>`select * from ${sql.table(table)} order by ${order}
        limit ${rowsAtOnce} offset ${offset}`.execute(db);
      for (const row of part.rows) yield line({ table, row });
      rows += part.rows.length;
      if (part.rows.length < rowsAtOnce) break;
    }
  }
  yield line({ rows, sha256: hash.copy().digest('hex') });
}

/** The checksum that a backup made now would end with. Runs in a transaction, like a backup. */
export async function backupDigest(db: Db): Promise<string> {
  let last = '';
  for await (const line of backupLines(db)) last = line.toString();
  return endSchema.parse(JSON.parse(last)).sha256;
}

/** The migration that a database has reached, and its tables: it may not have been upgraded yet. */
async function shapeOf(db: Db): Promise<{ step: string; present: ReadonlySet<string> }> {
  const { rows } = await sql<{ name: string }>`select name from kysely_migration order by name`.execute(db);
  const present = (await db.introspection.getTables()).map(({ name }) => name);
  return { step: rows.at(-1)?.name ?? '', present: new Set(present) };
}

/** Reads a backup from end to end. @throws StillcountError kind `input` unless every line is valid */
export async function checkBackup(file: string): Promise<{ rows: number; step: string; sha256: string }> {
  const hash = createHash('sha256');
  let rows = -1;
  let step = '';
  let end: z.infer<typeof endSchema> | undefined;
  for await (const { text, value, number } of parseLines(file)) {
    if (end !== undefined) throw damaged(file, number, 'more after the last line');
    const last = endSchema.safeParse(value);
    if (last.success) {
      end = last.data;
      if (end.sha256 !== hash.digest('hex')) throw damaged(file, number, 'a checksum of other lines');
      continue;
    }
    const isRight = number === 1 ? headSchema.safeParse(value).success : rowSchema.safeParse(value).success;
    if (!isRight) throw damaged(file, number, number === 1 ? 'no head of a backup' : 'no row');
    if (number === 1) step = await knownStep(file, headSchema.parse(value).step);
    hash.update(`${text}\n`);
    rows += 1;
  }
  if (end === undefined || end.rows !== rows) throw damaged(file, rows + 2, 'an end that is missing');
  return { rows, step, sha256: end.sha256 };
}

/** The lines of a backup, each parsed. @throws StillcountError kind `input` for a damaged line */
export async function* parseLines(
  file: string,
): AsyncIterable<{ text: string; value: unknown; number: number }> {
  let number = 0;
  try {
    for await (const text of linesOf(createReadStream(file, 'utf8'))) {
      number += 1;
      yield { text, value: parsed(file, number, text), number };
    }
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'ENOENT') {
      throw inputError({ file, message: 'there is no such file' }, error);
    }
    throw error;
  }
}

/**
 * Lines that end with a line feed and nothing else: readline, in newer versions of Node.js, also ends one at U+2028 and
 * U+2029, which JSON may contain.
 */
async function* linesOf(input: AsyncIterable<string>): AsyncIterable<string> {
  let open = '';
  for await (const chunk of input) {
    const [first = '', ...others] = chunk.split('\n');
    open += first;
    for (const other of others) {
      yield open;
      open = other;
    }
  }
  if (open !== '') yield open;
}

function parsed(file: string, number: number, text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    throw damaged(file, number, 'a line that is cut off or changed');
  }
}

async function knownStep(file: string, step: string): Promise<string> {
  const known = Object.keys(await migrationsFor('sqlite').getMigrations());
  if (known.includes(step)) return step;
  throw inputError({
    file,
    message: 'this backup was made by a newer version of Stillcount',
    found: step,
    allowed: known.join(', '),
    hint: 'restore it with that version',
  });
}

function damaged(file: string, line: number, found: string) {
  return inputError({
    file,
    line,
    message: 'this is not a complete backup',
    found,
    allowed: 'a file as the backup command wrote it',
  });
}
