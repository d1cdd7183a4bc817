import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, truncateSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PostgresAdapter, sql } from 'kysely';
import pg from 'pg';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { notifyOfWarning } from '../../src/reminders/planOthers.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { backupDigest, checkBackup } from '../../src/store/engine/backupFile.js';
import { openStore, readSnapshot, type Store, type StoreSettings } from '../../src/store/engine/openStore.js';
import { guardStore } from '../../src/store/engine/superseded.js';
import { listNewerSteps } from '../../src/store/engine/upToDate.js';
import { saveWarning } from '../../src/store/listening/listeningRecords.js';
import { patientById } from '../../src/store/people/chart.js';
import { expectedSchema } from '../../src/store/schema/expectedSchema.js';
import { schemaOf } from '../../src/store/schema/schemaDifferences.js';
import { backUp, restore } from '../../src/store/service/backup.js';
import { firstDay, openWorld, zone } from '../reminders/world.js';
import { Sqlite } from '../sqlite.js';
import { hasServer, releasedSteps, whyNoServer } from './databases.js';
import { addEarlierRows } from './earlierRows.js';
import { freshSchema } from './freshSchema.js';
import { makePostgresServer, postgresPrograms } from './postgresServer.js';
import { type UpgradeTried, upgradeTable } from './upgradeTable.js';

let folder: string;
let file: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillcount-upgrade-'));
  file = join(folder, 'clinic.db');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** Where databases of earlier versions stand: of each released step, and of each form that steps once had. */
const dumps = ['released', 'past'].flatMap((kind) =>
  readdirSync(join(import.meta.dirname, kind))
    .sort()
    .map((name) => join(import.meta.dirname, kind, name)),
);
const shortOf = (dump: string) => dump.slice(import.meta.dirname.length + 1);
/** @returns rows that its upgrade has to keep or to mend */
function lay(dump: string) {
  const database = new Sqlite(file);
  // It only has to be there: a disk would be waited for at each of some hundred statements.
  database.pragma('synchronous = off');
  database.exec(readFileSync(dump, 'utf8'));
  const wanted = addEarlierRows(database);
  database.close();
  return wanted;
}
/** What no backup holds: sign-ins, links that are used once, what failed, and the bookkeeping of the steps. */
const leftOut = [
  ...['invitation', 'signInSession', 'accountLink', 'incident'],
  ...['kysely_migration', 'kysely_migration_lock'],
];
const backupRow = z.object({ table: z.string(), row: z.record(z.string(), z.unknown()) });
/** Every row of every table that a backup holds, as SQLite gives it, in no order. */
function rowsOfAll(database: InstanceType<typeof Sqlite>): Record<string, string[]> {
  const names = z
    .array(z.string())
    .parse(database.prepare("select name from sqlite_master where type = 'table'").pluck().all())
    .filter((name) => !leftOut.includes(name) && !name.startsWith('sqlite_'));
  const all = names.map((name) => [name, database.prepare(`select * from "${name}"`).all()] as const);
  database.close();
  return Object.fromEntries(all.map(([name, rows]) => [name, rows.map((row) => JSON.stringify(row)).sort()]));
}
/**
 * Goes back: puts the copy that an upgrade made, line by line, into the empty tables of the version before it, as they
 * were frozen when it was released.
 */
function goBack(dump: string, copy: string) {
  const database = new Sqlite(':memory:');
  database.exec(readFileSync(dump, 'utf8').replaceAll(/^insert into .*;$/gm, ''));
  for (const text of readFileSync(copy, 'utf8').split('\n')) {
    const { data } = backupRow.safeParse(text === '' ? null : JSON.parse(text));
    if (data === undefined) continue;
    const columns = Object.keys(data.row);
    const places = columns.map(() => '?').join(', ');
    const named = columns.map((column) => `"${column}"`).join(', ');
    database
      .prepare(`insert into "${data.table}" (${named}) values (${places})`)
      .run(...Object.values(data.row));
  }
  return rowsOfAll(database);
}
/** The one patient of a dump, and who signed for them. */
async function knownOf(store: Store) {
  const known = await store.read((db) =>
    db
      .selectFrom('prescription')
      .innerJoin('patient', 'patient.id', 'prescription.patientId')
      .innerJoin('clinician', 'clinician.clinicId', 'patient.clinicId')
      .select(['prescription.id as prescriptionId', 'prescription.newestVersion as signed'])
      .select(['patient.id as patientId', 'clinician.id as clinicianId', 'patient.clinicId as clinicId'])
      .execute(),
  );
  const [one] = known;
  if (one === undefined || known.length > 1) throw new RangeError('there is one patient with one program');
  return one;
}
/** What opening the file is refused with. */
async function problemsOfOpening() {
  const error = await openStore({ kind: 'sqlite', file }).catch((thrown: unknown) => thrown);
  if (error instanceof StillcountError) return error.problems;
  throw new Error('it was opened', { cause: error });
}
const backups = () => readdirSync(join(folder, 'backups'));
/** The steps that the file has taken. */
function stepsOf(): string[] {
  const database = new Sqlite(file, { readonly: true });
  const rows = database.prepare<[], { name: string }>('select name from kysely_migration').all();
  database.close();
  return rows.map(({ name }) => name).sort();
}

describe('a database of an earlier version', () => {
  const tried: UpgradeTried[] = [];
  it.each(dumps.map((dump) => [shortOf(dump), dump]))(
    '%s is kept as it was, brought up to date, and reminds and warns of the patient who was in it',
    async (_name, dump) => {
      const wanted = lay(dump);
      const before = stepsOf();
      const asItWas = rowsOfAll(new Sqlite(file, { readonly: true }));
      expect(asItWas.patient).toHaveLength(1);
      const store = await openStore({ kind: 'sqlite', file });
      const upgrade: UpgradeTried = {
        ...{ dump: shortOf(dump), steps: stepsOf().filter((step) => !before.includes(step)), copy: null },
        ...{ rows: Object.values(wanted).flat().length, sent: ['due', 'warning'] },
      };
      try {
        for (const [table, rows] of Object.entries(wanted)) {
          const kept = await store.read((db) => sql`select * from ${sql.table(table)}`.execute(db));
          for (const row of rows) expect(kept.rows, table).toContainEqual(expect.objectContaining(row));
        }
        const { prescriptionId, signed, ...known } = await knownOf(store);
        const world = await openWorld(store, '', known);
        await world.agree('reminders');
        await world.sign(prescriptionId, signed, { timesADay: 1, timesOfDay: ['08:00'] });
        const linkId = await world.giveLink();
        await world.runEveryMinute(
          wallClockInstant(firstDay, '07:59', zone),
          wallClockInstant(firstDay, '08:01', zone),
        );
        const { clinicId, patientId, now } = world;
        await store.write(async (db) => {
          const place = { patientId, prescriptionId, versionNumber: signed + 1, sessionNumber: 1 };
          const about = { id: 'w', ...place, slot: `${firstDay}#1`, linkId, caregiverId: null };
          const nothing = { listeningId: null, positionMs: null, signs: '[]' };
          await saveWarning(db, { ...about, ...nothing, atMs: now(), receivedAtMs: now() });
          const patient = await patientById(db, clinicId, patientId);
          if (patient === null) throw new RangeError('the patient is there');
          const telling = { clinicId, patient, warningId: 'w', telling: world.telling, nowMs: now() };
          await notifyOfWarning(db, telling, world.secrets);
        });
        await world.runner.sendWarnings();
        expect(world.sent.map(({ kind }) => kind)).toEqual(upgrade.sent);
        expect(world.failures).toEqual([]);
        const names = await store.read((db) => db.selectFrom('patient').select('name').execute());
        expect(names).toHaveLength(1);
      } finally {
        await store.close();
      }
      const newest = (await releasedSteps()).at(-1) ?? '';
      if (dump.endsWith(`${newest}.sql`)) {
        tried.push(upgrade);
        return;
      }
      const [backup = ''] = backups();
      tried.push({ ...upgrade, copy: backup.replace(/-[^-]+[.]backup$/, '') });
      expect(goBack(dump, join(folder, 'backups', backup)), 'what the earlier version gets back').toEqual(
        asItWas,
      );
      const other = join(folder, 'other.db');
      const rows = await restore(join(folder, 'backups', backup), { kind: 'sqlite', file: other });
      expect(rows, backup).toBeGreaterThan(3);
      if (wanted.screening === undefined) return;
      const restored = new Sqlite(other, { readonly: true });
      const screenings = restored.prepare('select * from screening').all();
      restored.close();
      for (const row of wanted.screening) expect(screenings).toContainEqual(expect.objectContaining(row));
    },
  );

  it('stands in the table of upgrades', async (context) => {
    if (tried.length < dumps.length) context.skip('not all of them were run');
    const newest = (await releasedSteps()).at(-1) ?? '';
    await expect(upgradeTable(tried, newest)).toMatchFileSnapshot('upgrades.md');
  });

  it('is backed up and told of only where there is something to upgrade', async () => {
    const told: (string | undefined)[] = [];
    const onUpgrade = (copy?: string) => told.push(copy);
    await (await openStore({ kind: 'sqlite', file }, '0005-follow-up', onUpgrade)).close();
    expect(() => backups()).toThrow('ENOENT');
    expect(told).toEqual([]);
    await (await openStore({ kind: 'sqlite', file }, undefined, onUpgrade)).close();
    await (await openStore({ kind: 'sqlite', file }, undefined, onUpgrade)).close();
    expect(told, 'once, at the one upgrade').toEqual([
      undefined,
      join(folder, 'backups', backups()[0] ?? ''),
    ]);
    expect(backups()).toHaveLength(1);
  });
});

/** Everything that a SQLite file holds, as one text. */
function contentOf(): string {
  const database = new Sqlite(file, { readonly: true });
  const objects = database.prepare('select * from sqlite_master order by name').all();
  const tables = objects.map((object) => Object(object)).filter(({ type }) => type === 'table');
  const rows = tables.map(({ name }) => database.prepare(`select * from "${name}"`).all());
  database.close();
  return JSON.stringify([objects, rows]);
}

describe('an upgrade that fails', () => {
  it('leaves the database as it was, names the step and the copy, and the earlier version works on', async () => {
    lay(join(import.meta.dirname, 'released', '0005-follow-up.sql'));
    // In the way of a later step, after others were done.
    const database = new Sqlite(file);
    database.exec('create index "noteReadOfPatient" on "patient" ("name")');
    database.close();
    const before = contentOf();
    const problems = await problemsOfOpening();
    expect(problems[0]).toMatchObject({ path: '0007-notes' });
    expect(problems[0]?.message).toContain('could not be upgraded');
    expect(problems[0]?.hint).toContain(join(folder, 'backups', backups()[0] ?? 'none'));
    expect(contentOf()).toBe(before);
    const free = new Sqlite(file);
    free.exec('drop index "noteReadOfPatient"');
    free.close();
    await (await openStore({ kind: 'sqlite', file })).close();
  });

  it('that is tried again and again keeps one copy, unless it was damaged or something has changed', async () => {
    lay(join(import.meta.dirname, 'released', '0005-follow-up.sql'));
    const run = (statement: string) => {
      const database = new Sqlite(file);
      database.exec(statement);
      database.close();
    };
    run('create index "noteReadOfPatient" on "patient" ("name")');
    const copy = join(folder, 'backups', 'after-0005-follow-up-20261125T090000Z.backup');
    await problemsOfOpening();
    renameSync(join(folder, 'backups', backups()[0] ?? 'none'), copy);
    const named = async () =>
      /copy of everything is (.+)$/.exec((await problemsOfOpening())[0]?.hint ?? '')?.[1];
    expect([await named(), await named()]).toEqual([copy, copy]);
    expect(backups()).toHaveLength(1);
    run(`update "patient" set "name" = 'Rosa Brandt'`);
    const second = (await named()) ?? '';
    expect(readFileSync(second, 'utf8')).toContain('Rosa Brandt');
    expect(backups()).toHaveLength(2);
    truncateSync(second, 200);
    const third = (await named()) ?? '';
    expect((await checkBackup(third)).step).toBe('0005-follow-up');
    expect(readFileSync(copy, 'utf8'), 'the first').not.toContain('Rosa Brandt');
  });

  it('begins nothing where the copy cannot be written', async () => {
    lay(join(import.meta.dirname, 'released', '0005-follow-up.sql'));
    const before = contentOf();
    new Sqlite(join(folder, 'backups')).exec('create table "a" ("b" text)').close();
    const problems = await problemsOfOpening();
    expect(problems[0]?.file).toContain('backups');
    expect(contentOf()).toBe(before);
  });

  it('leaves a database of a newer version alone, and names the copy to go back to', async () => {
    await (await openStore({ kind: 'sqlite', file })).close();
    const asItWas = join(folder, 'as-it-was.backup');
    await backUp({ kind: 'sqlite', file }, asItWas);
    const newest = (await releasedSteps()).at(-1) ?? '';
    const copy = join(folder, 'backups', `after-${newest}-20261125T090000Z.backup`);
    const database = new Sqlite(file);
    database.exec(`insert into kysely_migration values ('9999-from-later', '2030-01-01')`);
    database.close();
    const before = contentOf();
    const problems = await problemsOfOpening();
    expect(problems[0]?.message).toContain('newer version');
    expect(problems[0]?.hint).toBe('install the newer version again; "stillcount guide going-back" says how');
    expect(contentOf()).toBe(before);
    mkdirSync(join(folder, 'backups'));
    renameSync(asItWas, copy);
    expect((await problemsOfOpening())[0]?.hint).toContain(`before its upgrade, kept in ${copy};`);
  });
});

describe('a database of another shape', () => {
  it('is refused column by column', async () => {
    await (await openStore({ kind: 'sqlite', file })).close();
    const database = new Sqlite(file);
    database.exec('alter table "note" drop column "wordsHash"');
    database.exec('alter table "patient" add column "shoeSize" integer');
    database.exec('drop table "adviceWatch"');
    database.close();
    const problems = await problemsOfOpening();
    expect(problems.map(({ path, found, allowed }) => [path, found, allowed])).toEqual([
      ['adviceWatch', 'no such table', 'a table'],
      ['note.wordsHash', 'no such column', 'text'],
      ['patient.shoeSize', 'number', 'no such column'],
    ]);
  });

  it('is not upgraded either, and the copy that was made is named', async () => {
    await (await openStore({ kind: 'sqlite', file }, '0005-follow-up')).close();
    const database = new Sqlite(file);
    database.exec('alter table "patient" add column "shoeSize" integer');
    const steps = database.prepare('select name from kysely_migration').all();
    database.close();
    const problems = await problemsOfOpening();
    expect(problems.map(({ path }) => path)).toEqual(['patient.shoeSize']);
    expect(problems[0]?.hint).toContain(
      `the earlier version works with it as before; a copy of everything is ${join(folder, 'backups', backups()[0] ?? '')}`,
    );
    const after = new Sqlite(file, { readonly: true });
    expect(after.prepare('select name from kysely_migration').all()).toEqual(steps);
    after.close();
  });
});

describe('the steps', () => {
  it('make the shape that is expected', async () => {
    expect(await freshSchema()).toEqual(expectedSchema);
  });

  it('are never edited once they are released', () => {
    const steps = join(import.meta.dirname, '../../src/store/schema/migrations');
    const imported = readdirSync(steps).flatMap((name) =>
      [...readFileSync(join(steps, name), 'utf8').matchAll(/ from '(.+)';/g)].map(([, from]) => from),
    );
    expect(
      imported.filter((from) => !/^(kysely$|node:|\.\/)/.test(from ?? '')),
      'what would change a step without its hash',
    ).toEqual([]);
    const hashes = Object.fromEntries(
      readdirSync(steps).map((name) => [
        name,
        createHash('sha256')
          .update(readFileSync(join(steps, name)))
          .digest('hex')
          .slice(0, 16),
      ]),
    );
    expect(hashes).toMatchInlineSnapshot(`
      {
        "0001-prescribing.ts": "d414e991e6618e1b",
        "0002-screening.ts": "5451159ac8c140ce",
        "0003-listening.ts": "6309916a32b94290",
        "0004-reminders.ts": "d981483c0176abd3",
        "0005-follow-up.ts": "8bbfd636d95c70f6",
        "0006-erasure.ts": "25375e97f9ad558c",
        "0007-notes.ts": "42c8d7fcf383e79e",
        "0008-note-findings.ts": "0cf0541743aecbf0",
        "0009-not-playable.ts": "17514c4308d6f8bf",
        "0010-mend-edited-steps.ts": "29e4eed16ce80cbc",
        "0011-accounts.ts": "ef5d283c9d974b09",
        "0012-troubles.ts": "575d5ee67ffee602",
        "0013-signed-checksums.ts": "22f29b98917ac91f",
        "appendOnly.ts": "5fb74e294b2ad997",
        "databaseKind.ts": "25f0918dbe1d494f",
        "signedChecksums.ts": "7e5ce49e12f461e9",
        "sumUpAll.ts": "e75d7c1813f4a9cb",
        "sumUpListened.ts": "f365dd6ff36e3d15",
      }
    `);
  });

  it('make the same shape on PostgreSQL, and an upgrade there is backed up and whole', async (context) => {
    const programs = postgresPrograms();
    if (programs === undefined && process.env.CI === undefined) context.skip(whyNoServer);
    expect(hasServer, whyNoServer).toBe(true);
    if (programs === undefined) return;
    const server = await makePostgresServer(programs);
    try {
      const settings = { kind: 'postgres' as const, url: server.url, backups: join(folder, 'backups') };
      await (await openStore(settings, '0005-follow-up')).close();
      await failsAndIsCutOff(settings);
      // Two processes that start at once: one waits for the other, and finds nothing left to do.
      const [one, other] = await Promise.all([openStore(settings), openStore(settings)]);
      const steps = await other.read((db) =>
        sql<{ name: string }>`select name from kysely_migration`.execute(db),
      );
      expect(steps.rows).toHaveLength((await releasedSteps()).length);
      const later = '9999-from-later';
      await waitsForUpgrade(one, later);
      await refusesEarlierRows(settings);
      expect(await other.read((db) => listNewerSteps(db, 'postgres'))).toEqual([later]);
      await one.read((db) => sql`drop schema public cascade`.execute(db));
      await one.read((db) => sql`create schema public`.execute(db));
      await Promise.all([one.close(), other.close()]);
      rmSync(join(folder, 'backups'), { recursive: true });
      await (await openStore(settings, '0005-follow-up')).close();
      lay(join(import.meta.dirname, 'released', '0005-follow-up.sql'));
      const kept = join(folder, 'earlier.backup');
      await backUp({ kind: 'sqlite', file }, kept);
      const rows = await restore(kept, settings);
      expect(rows).toBeGreaterThan(3);
      expect(backups(), 'a clinic that was put in at an earlier step').toHaveLength(1);
      await (await openStore(settings)).close();
      expect(backups(), 'nothing more to do').toHaveLength(1);
    } finally {
      await server.remove();
    }
  });
});

/** What an earlier version writes while one upgrades is written after it: not at all. Kysely's own lock is held here. */
async function waitsForUpgrade(store: Store, later: string): Promise<void> {
  const [adapter, options] = [new PostgresAdapter(), { lockTable: '', lockRowId: '' }];
  let written = false;
  let writing: Promise<unknown> = Promise.resolve();
  const upgrading = store.read((db) =>
    db.connection().execute(async (connection) => {
      await adapter.acquireMigrationLock(connection, options);
      writing = guardStore(store)
        .write(async () => {
          written = true;
        })
        .catch((error: unknown) => error);
      const waiting = () =>
        store.read((own) =>
          sql`select pid from pg_locks where locktype = 'advisory' and not granted`.execute(own),
        );
      await expect.poll(async () => (await waiting()).rows, { timeout: 20_000 }).toHaveLength(1);
      await sql`insert into kysely_migration values (${later}, '2030-01-01')`.execute(connection);
      await adapter.releaseMigrationLock(connection, options);
    }),
  );
  await upgrading;
  expect(await writing).toMatchObject({ message: expect.stringContaining('newer version of Stillcount') });
  expect(written).toBe(false);
}

/** PostgreSQL, appendix A: 23502 is not_null_violation. */
async function refusesEarlierRows(settings: StoreSettings & { kind: 'postgres' }): Promise<void> {
  const client = new pg.Client({ connectionString: settings.url });
  await client.connect();
  const earlier = `insert into "screening" ("id", "patientId", "number", "answers", "stops", "clinicianId", "atMs")
    values ('s', 'p', 1, '{}', 0, 'c', 0)`;
  await expect(client.query(earlier)).rejects.toMatchObject({ code: '23502' });
  await client.end();
}

/** An upgrade of a PostgreSQL database in which a step fails, and one that is cut off between two steps. */
async function failsAndIsCutOff(settings: StoreSettings & { kind: 'postgres' }): Promise<void> {
  const client = new pg.Client({ connectionString: settings.url });
  await client.connect();
  const whole = () =>
    readSnapshot(settings, async (db) => ({
      rows: await backupDigest(db),
      shape: await schemaOf(db, 'postgres'),
      steps: (await sql`select name from kysely_migration order by name`.execute(db)).rows,
    }));
  const refused = async () => {
    const error = await openStore(settings).catch((thrown: unknown) => thrown);
    if (!(error instanceof StillcountError)) throw new Error('it was opened', { cause: error });
    return error.problems[0];
  };
  try {
    await client.query(`insert into "clinic" values ('c', 'Quillmere', 'UTC', 0, '', '')`);
    // In the way of a later step, after others were done.
    await client.query('create index "noteReadOfPatient" on "patient" ("name")');
    const before = await whole();
    const problem = await refused();
    expect(problem).toMatchObject({ path: '0007-notes' });
    expect(problem?.hint).toContain('nothing was changed: the earlier version works with it as before');
    expect(problem?.hint).toContain(join(folder, 'backups', backups()[0] ?? 'none'));
    expect(await whole()).toEqual(before);
    await client.query('drop index "noteReadOfPatient"');
    await client.query(`create function "cutOff"() returns trigger language plpgsql as $$ begin
      perform pg_terminate_backend(pg_backend_pid()); perform pg_sleep(5); return null; end $$`);
    await client.query(`create trigger "cutOff" after insert on kysely_migration for each row
      when (new.name = '0008-note-findings') execute function "cutOff"()`);
    expect((await refused())?.message).toContain('could not be upgraded');
    expect(await whole()).toEqual(before);
    await client.query('drop trigger "cutOff" on kysely_migration');
    expect(backups(), 'one copy of the same').toHaveLength(1);
  } finally {
    await client.end();
  }
}
