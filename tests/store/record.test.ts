import { randomUUID } from 'node:crypto';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { decideWarning } from '../../src/reminders/otherKinds.js';
import { auditTrail } from '../../src/store/accounts/audit.js';
import { scheduleAfterChange } from '../../src/store/attention/patientChanged.js';
import { againAfterDeadlock } from '../../src/store/engine/deadlock.js';
import { type Db, openStore, type Store } from '../../src/store/engine/openStore.js';
import { linkOfToken } from '../../src/store/listening/listeningLinks.js';
import { saveNotToday } from '../../src/store/listening/listeningRecords.js';
import { endCaregiver } from '../../src/store/people/caregivers.js';
import { isOfPatient, patientTables } from '../../src/store/people/patientTables.js';
import { cleanUpErased, erasePatient, erasuresOf } from '../../src/store/records/erasure.js';
import { allRecordRows, countRecordRows, recordTables } from '../../src/store/records/record.js';
import { claimDeliveries, settleDeliveries } from '../../src/store/reminding/deliveries.js';
import { readSendingFacts } from '../../src/store/reminding/readSendingFacts.js';
import type { Database } from '../../src/store/schema/schema.js';
import { databases } from './databases.js';
import { makeClinic } from './people.js';
import { type Clinic, makePerson, nowMs } from './wholePerson.js';

/** Tables that hold nothing about one patient; a new table has to be put here or into the list of the store. */
const others: readonly (keyof Database)[] = [
  'clinic',
  'clinician',
  'invitation',
  'signInSession',
  'accountLink',
  'recoveryCode',
  'clinicProgram',
  'accessKey',
  'serviceSecret',
  'auditEntry',
  'erasure',
  'incident',
];

const tableNames = async (db: Db) => (await db.introspection.getTables()).map(({ name }) => name);

/** Every row of every table, as text, by table. */
async function everyRow(store: Store): Promise<Map<string, string[]>> {
  return store.read(async (db) => {
    const found = new Map<string, string[]>();
    for (const name of await tableNames(db)) {
      const { rows } = await sql<object>`select * from ${sql.table(name)}`.execute(db);
      found.set(name, rows.map((row) => JSON.stringify(row)).sort());
    }
    return found;
  });
}

const rowsWith = (rows: ReadonlyMap<string, string[]>, text: string) =>
  new Map(
    [...rows].flatMap(([name, lines]) => {
      const with_ = lines.filter((line) => line.toLowerCase().includes(text.toLowerCase()));
      return with_.length === 0 ? [] : [[name, with_]];
    }),
  );

describe.each(databases)('a patient’s record on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  let clinic: Clinic;
  beforeAll(async () => {
    ({ store, close } = await open());
    clinic = await store.write((db) => makeClinic(db, nowMs));
  });
  afterAll(() => close());

  const erase = (patientId: string) =>
    againAfterDeadlock(() =>
      store.write((db) =>
        erasePatient(db, store.kind, { ...clinic, patientId, why: 'asked-for', atMs: nowMs + 5 }),
      ),
    );

  it('knows every table that there is', async () => {
    const names = await store.read(tableNames);
    const known: readonly string[] = [...patientTables, ...others];
    expect(names.filter((name) => !name.startsWith('kysely_')).sort()).toEqual([...known].sort());
  });

  it('is read part by part, each row once and in order, and nobody else’s with it', async () => {
    const count = 1_203;
    const { patientId } = await store.write(async (db) => {
      const made = await makePerson(db, clinic, 'Pagina', null);
      await makePerson(db, clinic, 'Otherwise', null);
      const template = await db
        .selectFrom('listeningStep')
        .selectAll()
        .where('patientId', '=', made.patientId)
        .executeTakeFirstOrThrow();
      for (let start = 1; start < count; start += 50) {
        const rows = Array.from({ length: Math.min(50, count - start) }, (_, index) => ({
          ...template,
          id: randomUUID(),
          // Many at the same moment: some of them on one part, some on the next.
          atMs: nowMs + ((start + index) % 7),
        }));
        await db.insertInto('listeningStep').values(rows).execute();
      }
      return made;
    });
    const steps = await allRecordRows(store, 'listeningStep', patientId);
    expect(new Set(steps.map(({ id }) => id)).size).toBe(count);
    const moments = steps.map(({ atMs }) => atMs);
    expect(moments).toEqual([...moments].sort((a, b) => a - b));
    for (const table of recordTables) {
      const rows = await allRecordRows(store, table, patientId);
      expect(rows.length, table).toBeGreaterThan(0);
      expect(JSON.stringify(rows).toLowerCase(), table).not.toContain('otherwise');
    }
    const counts = await store.read((db) => countRecordRows(db, patientId));
    expect(counts).toMatchObject({ caregiver: 2, checkIn: 1, prescriptionVersion: 1, progressNote: 1 });
  });

  it('leaves nothing when it is erased but that it was done, and nobody else is touched', async () => {
    const [rosa, otto] = await store.write(async (db) => {
      const made = await makePerson(db, clinic, 'Quillon', null);
      // Otto's caregiver cares for Rosa too.
      const first = await makePerson(db, clinic, 'Otterbein', made.sharedId);
      return [made, first];
    });
    const link = { tokenHash: 'Quillon token', purpose: 'pages', nowMs } as const;
    expect(await store.read((db) => linkOfToken(db, link)), 'a link that works').not.toBeNull();
    await store.read(async (db) => {
      for (const table of patientTables) {
        const { rows } =
          await sql`select 1 from ${sql.table(table)} where ${isOfPatient(table, rosa.patientId)}`.execute(
            db,
          );
        expect(rows.length, `${table}: nothing to erase`).toBeGreaterThan(0);
      }
    });
    const before = await everyRow(store);
    expect(await erase(rosa.patientId)).toBe(true);
    await store.read((db) => cleanUpErased(db, store.kind));
    const after = await everyRow(store);
    expect(rowsWith(after, 'quillon'), 'no name, address, number or word').toEqual(new Map());
    expect([...rowsWith(after, rosa.patientId).keys()].sort()).toEqual(['auditEntry', 'erasure']);
    expect([...rowsWith(after, rosa.personId).keys()], 'their caregiver').toEqual([]);
    const ottos = rowsWith(after, 'otterbein');
    expect(ottos, 'everything of another person is as it was').toEqual(rowsWith(before, 'otterbein'));
    expect(rowsWith(after, otto.patientId)).toEqual(rowsWith(before, otto.patientId));
    expect(after.get('auditEntry')).toEqual(before.get('auditEntry'));
    expect(await store.read((db) => linkOfToken(db, link)), 'as one that never was').toBeNull();
    const { entries } = await store.read((db) =>
      auditTrail(db, clinic.clinicId, { patientId: rosa.patientId }),
    );
    expect(entries).toMatchObject([{ action: 'patient-read', patientName: null }]);
    expect(await store.read((db) => erasuresOf(db, clinic.clinicId))).toEqual([
      { ...clinic, patientId: rosa.patientId, why: 'asked-for', atMs: nowMs + 5, clinicianName: 'Ada' },
    ]);
    expect(await erase(rosa.patientId), 'a second time').toBe(false);
  });

  it('keeps, erased, the link and address of somebody who cares for others too', async () => {
    const [ida, uwe] = await store.write(async (db) => {
      const made = await makePerson(db, clinic, 'Idaline', null);
      const second = await makePerson(db, clinic, 'Uwestein', made.personId);
      // That they cared for somebody once is in that record still.
      await endCaregiver(db, second.patientId, { id: second.sharedId, nowMs });
      return [made, second];
    });
    const link = { tokenHash: 'Idaline t2', purpose: 'pages', nowMs } as const;
    await erase(ida.patientId);
    const rows = await everyRow(store);
    expect([...rowsWith(rows, ida.patientId).keys()].sort()).toEqual(['auditEntry', 'erasure']);
    expect(await store.read((db) => linkOfToken(db, link)), 'still theirs').toMatchObject({
      caregiverPersonId: ida.personId,
    });
    await erase(uwe.patientId);
    expect(await store.read((db) => linkOfToken(db, link)), 'nobody is left').toBeNull();
  });

  it('can be deleted by erasing it only, as far as it was written once, and no other with it', async () => {
    const [eva, max] = await store.write(async (db) => [
      await makePerson(db, clinic, 'Evanora', null),
      await makePerson(db, clinic, 'Maxwell', null),
    ]);
    const guarded = [
      ...([
        'screening',
        'consent',
        'listeningStep',
        'notToday',
        'checkIn',
        'noteRead',
        'warning',
        'warningAnswer',
      ] as const),
      ...(['feedDelivery', 'adviceAnswer', 'progressNote', 'measureTaken', 'measureWithdrawn'] as const),
      ...(['prescriptionVersion', 'prescriptionState'] as const),
    ];
    const all = [...guarded, 'auditEntry', 'erasure'] as const;
    await erase(eva.patientId);
    for (const table of all) {
      const remove = store.write((db) => sql`delete from ${sql.table(table)}`.execute(db));
      await expect(remove, table).rejects.toThrow(/never changed/);
    }
    for (const table of guarded) {
      const remove = store.write((db) =>
        sql`delete from ${sql.table(table)} where ${isOfPatient(table, max.patientId)}`.execute(db),
      );
      await expect(remove, table).rejects.toThrow(/never changed/);
      const change = store.write((db) =>
        sql`update ${sql.table(table)} set "clinicianId" = "clinicianId"`.execute(db),
      );
      await expect(change, table).rejects.toThrow();
    }
  });

  it('drops, erased, what is about to be sent, and does not hold up whoever was sending it', async () => {
    const lea = await store.write((db) => makePerson(db, clinic, 'Leander', null));
    const claiming = { owner: 'sender', nowMs: nowMs + 1, leaseMs: 1_000, most: 500, isShared: false };
    const claimed = await store.write((db) => claimDeliveries(db, { ...claiming, onlyWarnings: true }));
    const own = claimed.filter(({ patientId }) => patientId === lea.patientId);
    expect(own).toHaveLength(2);
    await erase(lea.patientId);
    const asked = {
      contactIds: own.map(({ contactId }) => contactId),
      patientIds: [lea.patientId],
      prescriptionIds: [],
    };
    const facts = await store.read((db) => readSendingFacts(db, asked, { sinceMs: 0, nowMs }));
    for (const each of own) {
      const choice = await decideWarning(store, each, facts, nowMs);
      expect(choice, 'nobody is told of somebody who is no more here').toMatchObject({ do: 'drop' });
    }
    const failed = {
      state: 'failed',
      why: 'no-address',
      isLate: false,
      nextAtMs: null,
      isUntried: false,
    } as const;
    const settled = own.map(({ id, patientId }) => ({ id, patientId, ...failed }));
    expect(await store.write((db) => settleDeliveries(db, 'sender', settled, nowMs + 2))).toBe(0);
    const rows = await everyRow(store);
    expect([...rowsWith(rows, lea.patientId).keys()].sort()).toEqual(['auditEntry', 'erasure']);
  });

  it('is erased while others write about the same person, and nothing of theirs is left', async () => {
    const kai = await store.write((db) => makePerson(db, clinic, 'Kaisander', null));
    const putOff = await store.read((db) =>
      db.selectFrom('notToday').selectAll().where('patientId', '=', kai.patientId).executeTakeFirstOrThrow(),
    );
    const write = (index: number) =>
      store.write(async (db) => {
        if (index % 2 === 0) await scheduleAfterChange(db, kai.patientId);
        await saveNotToday(db, { ...putOff, id: randomUUID() });
        if (index % 2 === 1) await scheduleAfterChange(db, kai.patientId);
      });
    const writers = Array.from({ length: 3 }, (_, index) => write(index));
    const erased = erase(kai.patientId);
    const late = Array.from({ length: 3 }, (_, index) => write(index));
    const [done] = await Promise.allSettled([erased, ...writers, ...late]);
    expect(done).toEqual({ status: 'fulfilled', value: true });
    expect([...rowsWith(await everyRow(store), kai.patientId).keys()].sort()).toEqual([
      'auditEntry',
      'erasure',
    ]);
    await expect(write(0), 'nobody is there any more').rejects.toThrow();
  });

  it('is erased whole or not at all', async () => {
    const noa = await store.write((db) => makePerson(db, clinic, 'Noachim', null));
    const before = await everyRow(store);
    const failing = store.write(async (db) => {
      await erasePatient(db, store.kind, { ...clinic, patientId: noa.patientId, why: 'other', atMs: nowMs });
      throw new RangeError('after all');
    });
    await expect(failing).rejects.toThrow('after all');
    expect(await everyRow(store)).toEqual(before);
  });
});

describe('the file of a database', () => {
  it('holds no byte of an erased name', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'stillcount-erased-'));
    const file = join(folder, 'clinic.db');
    const store = await openStore({ kind: 'sqlite', file });
    try {
      const clinic = await store.write((db) => makeClinic(db, nowMs));
      const { patientId } = await store.write((db) => makePerson(db, clinic, 'Quillon', null));
      const holdsName = async () => {
        const texts = await Promise.all([file, `${file}-wal`].map((path) => readFile(path, 'latin1')));
        return texts.some((text) => /quillon/i.test(text));
      };
      expect(await holdsName()).toBe(true);
      await store.write((db) =>
        erasePatient(db, 'sqlite', { ...clinic, patientId, why: 'asked-for', atMs: nowMs }),
      );
      await store.read((db) => cleanUpErased(db, 'sqlite'));
      expect(await holdsName()).toBe(false);
    } finally {
      await store.close();
      await rm(folder, { recursive: true, force: true });
    }
  });
});
