import { copyFile, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Kysely } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ok, runChecks } from '../../src/checks/check.js';
import { Troubles } from '../../src/checks/troubles.js';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { watchDatabase } from '../../src/service/watchDatabase.js';
import { findDamage, refuseDamaged } from '../../src/store/engine/damage.js';
import { openStore, readSnapshot, type Store } from '../../src/store/engine/openStore.js';
import { openSqlite } from '../../src/store/engine/sqlite.js';
import { inspectLog } from '../../src/store/engine/writeAheadLog.js';
import { prescriptionsOf, versionsOf } from '../../src/store/people/chart.js';
import { changeState, createPrescription, signVersion } from '../../src/store/prescribing/prescriptions.js';
import { verifySigned } from '../../src/store/prescribing/verifySigned.js';
import type { Database } from '../../src/store/schema/schema.js';
import { backUp } from '../../src/store/service/backup.js';
import { Sqlite } from '../sqlite.js';
import { makeClinic, makePatient } from './people.js';

/**
 * `clinic.db`, damaged as disks, power cuts, copies and hands do it. Either it is not opened, with a sentence that says
 * what to do, or what comes out of it is what was signed, or nothing does.
 */

const now = Date.UTC(2026, 10, 25);
const pageBytes = 4_096;
let folder: string;
let whole: string;
/** The content that was signed, by program and version, and the newest version of each program. */
const signed = new Map<string, string>();
const newest = new Map<string, number>();
const paused = new Set<string>();
let known: { clinicId: string; patientIds: string[] };

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-damaged-'));
  whole = join(folder, 'whole.db');
  const store = await openStore({ kind: 'sqlite', file: whole });
  await store.write(async (db) => {
    const { clinicId, clinicianId } = await makeClinic(db, now);
    known = { clinicId, patientIds: [] };
    for (let index = 0; index < 12; index += 1) {
      const patientId = await makePatient(db, clinicId, now);
      known.patientIds.push(patientId);
      const sign = (number: number) => {
        const content = JSON.stringify({ holdSeconds: 10 * index + number, notes: 'Slowly. '.repeat(80) });
        const reason = 'Agreed';
        return { title: 'T', content, screeningId: null, reason, signedBy: clinicianId, nowMs: now };
      };
      const id = await createPrescription(db, patientId, sign(1));
      await signVersion(db, id, 1, sign(2));
      for (const number of [1, 2]) signed.set(`${id} ${number}`, sign(number).content);
      newest.set(id, 2);
      if (index % 3 !== 0) continue;
      await changeState(db, { prescriptionId: id, state: 'paused', clinicianId, reason: 'r', nowMs: now });
      paused.add(id);
    }
  });
  await store.close();
});
afterAll(() => rm(folder, { recursive: true, force: true }));

let copies = 0;
async function copyOf(bytes: Buffer): Promise<string> {
  copies += 1;
  const file = join(folder, `${copies}.db`);
  await writeFile(file, bytes);
  return file;
}

/** What comes of opening a damaged file and of reading everything in it; whatever is wrong fails the test. */
async function outcomeOf(file: string, what: string): Promise<'refused' | 'held back' | 'as signed'> {
  try {
    return await read(file, what);
  } catch (error) {
    if (!(error instanceof StillcountError)) throw new Error(what, { cause: error });
    expect(error.kind, what).toBe('work');
    expect(error.problems[0]?.hint ?? '', what).toMatch(/restore|backup|disk|install|start/);
    return 'refused';
  }
}

async function read(file: string, what: string): Promise<'held back' | 'as signed'> {
  const store = await openStore({ kind: 'sqlite', file });
  let isHeldBack = false;
  try {
    for (const patientId of known.patientIds) {
      for (const { id, state } of await store.read((db) => prescriptionsOf(db, known.clinicId, patientId))) {
        const versions = await store.read((db) => versionsOf(db, id));
        for (const { number, content } of versions)
          expect([signed.get(`${id} ${number}`), null], what).toContain(content);
        const [first] = versions;
        if (first?.content == null) isHeldBack = true;
        else {
          expect(first.number, `${what}: the newest`).toBe(newest.get(id));
          expect(state, `${what}: whether it runs`).toBe(paused.has(id) ? 'paused' : 'active');
        }
      }
    }
  } finally {
    await store.close();
  }
  return isHeldBack ? 'held back' : 'as signed';
}

const flip = (bytes: Buffer, at: number) => {
  const flipped = Buffer.from(bytes);
  flipped[at] = (flipped[at] ?? 0) ^ 0x01;
  return flipped;
};

describe('a database file', () => {
  it('in which a digit of a signed dose changed is opened, and that program is held back', async () => {
    const bytes = await readFile(whole);
    // The last bit of a digit: 5 becomes 4, and JSON stays JSON.
    for (let index = 0; index < 12; index += 1) {
      const text = `"holdSeconds":${10 * index + 2}`;
      const at = bytes.indexOf(text);
      expect(at, text).toBeGreaterThan(0);
      const file = await copyOf(flip(bytes, at + text.length - 1));
      expect(await outcomeOf(file, text)).toBe('held back');
    }
  });

  it('of which one page is zero, or has a wrong byte, gives out what was signed or nothing', async () => {
    const bytes = await readFile(whole);
    const pages = bytes.length / pageBytes;
    const outcomes: string[] = [];
    // One page by one damage and the next by the other: all kinds of pages are among them.
    for (let page = 0; page < pages; page += 5) {
      const zeroed = Buffer.from(bytes).fill(0, page * pageBytes, (page + 1) * pageBytes);
      outcomes.push(await outcomeOf(await copyOf(zeroed), `page ${page} zero`));
      const at = Math.min(pages - 1, page + 1) * pageBytes + ((page * 977) % pageBytes);
      outcomes.push(await outcomeOf(await copyOf(flip(bytes, at)), `byte ${at} wrong`));
    }
    expect(new Set(outcomes)).toContain('refused');
  });

  it('that was cut short, emptied or replaced gives out nothing that was not signed', async () => {
    const bytes = await readFile(whole);
    for (const part of [0.3, 0.7, 0.97]) {
      const file = await copyOf(bytes.subarray(0, Math.floor(bytes.length * part)));
      expect(await outcomeOf(file, `cut at ${part}`)).toBe('refused');
    }
    // An empty one is a new clinic, which the command asks about beside a used one (tests/cli/doctor.test.ts).
    expect(await outcomeOf(await copyOf(Buffer.alloc(0)), 'empty')).toBe('as signed');
    const other = join(folder, 'other.db');
    new Sqlite(other).exec('create table "prescription" ("id" text)').close();
    expect(await outcomeOf(other, 'another database')).toBe('refused');
  });

  it('larger than is looked through at a start is looked through beside the service', async () => {
    const bytes = await readFile(whole);
    const middle = Math.floor(bytes.length / 2 / pageBytes) * pageBytes;
    const file = await copyOf(Buffer.from(bytes).fill(0xa5, middle, middle + pageBytes));
    await readSnapshot({ kind: 'sqlite', file }, async (db) => {
      expect(await findDamage(db)).not.toBeNull();
      await expect(refuseDamaged(db, file, bytes.length)).rejects.toThrow('the database file is damaged');
      await expect(refuseDamaged(db, file, bytes.length - 1)).resolves.toBeUndefined();
    });
    const troubles = new Troubles(() => now);
    const logged: object[] = [];
    const failed: unknown[] = [];
    const end = watchDatabase(
      { file, troubles, log: (event) => logged.push(event), mostBytes: 1 },
      (_, error) => failed.push(error),
    );
    await expect
      .poll(() => troubles.all(), { timeout: 60_000 })
      .toMatchObject([{ kind: 'database-damaged' }]);
    await end();
    expect(logged).toMatchObject([{ code: 'database-damaged', cause: expect.stringMatching(/\w/) }]);
    expect(failed).toEqual([]);
  });
});

describe('the log of a database whose service was killed', () => {
  let log: Buffer;
  let file: string;
  beforeAll(async () => {
    file = join(folder, 'killed.db');
    await copyFile(whole, file);
    const store = await openStore({ kind: 'sqlite', file });
    const [id = ''] = newest.keys();
    const { signedBy } = (await store.read((db) => versionsOf(db, id)))[0] ?? { signedBy: '' };
    for (const number of [3, 4]) {
      const content = JSON.stringify({ holdSeconds: number });
      const next = { title: 'T', content, screeningId: null, reason: 'Agreed', signedBy, nowMs: now };
      await store.write((db) => signVersion(db, id, number - 1, next));
      signed.set(`${id} ${number}`, content);
    }
    newest.set(id, 4);
    // As `kill -9` leaves the two files.
    await copyFile(file, join(folder, 'left.db'));
    log = await readFile(`${file}-wal`);
    await store.close();
  });

  const told = (store: Store) =>
    store.read((db) => db.selectFrom('incident').select(['code', 'times']).execute());
  const openWith = async (bytes: Buffer, what: string) => {
    const copy = await copyOf(await readFile(join(folder, 'left.db')));
    await writeFile(`${copy}-wal`, bytes);
    return outcomeOf(copy, what);
  };

  it('brings both versions when it is whole', async () => {
    expect(inspectLog(log)).toBe('whole');
    expect(await openWith(log, 'whole')).toBe('as signed');
  });

  it('that is damaged before the last transaction is refused', async () => {
    const frames = (log.length - 32) / (24 + pageBytes);
    expect(Number.isInteger(frames)).toBe(true);
    for (const at of [8, 20, 32 + 8, 32 + 20, 32 + 24 + 100, 32 + 24 + pageBytes + 30]) {
      expect(inspectLog(flip(log, at)), `byte ${at}`).toBe('damaged');
      expect(await openWith(flip(log, at), `byte ${at}`)).toBe('refused');
    }
    expect(inspectLog(Buffer.concat([Buffer.alloc(pageBytes), log.subarray(pageBytes)]))).toBe('damaged');
  });

  it('is left as it is by whatever only reads, when it is damaged or cut off and nobody holds the file', async () => {
    const last = log.length - 100;
    const refusals = [
      [32 + 24 + 100, 'the database log is damaged'],
      [last, 'the last change may be missing'],
    ] as const;
    for (const [at, why] of refusals) {
      const copy = await copyOf(await readFile(join(folder, 'left.db')));
      await writeFile(`${copy}-wal`, flip(log, at));
      const database = { kind: 'sqlite', file: copy } as const;
      // What was killed has left its lock, which nobody holds.
      await writeFile(`${copy}.lock`, '');
      await expect(backUp(database, `${copy}.backup`)).rejects.toThrow(why);
      const [found] = await runChecks(
        [{ name: 'signed', look: () => readSnapshot(database, verifySigned).then(() => ok('')) }],
        10_000,
      );
      expect(found).toMatchObject({ state: 'fault', found: expect.stringContaining(why) });
      expect((await readFile(`${copy}-wal`)).equals(flip(log, at)), 'evidence').toBe(true);
    }
  });

  it('is read beside a service that holds the file, whatever a reader sees of what is being written', async () => {
    const copy = await copyOf(await readFile(whole));
    const store = await openStore({ kind: 'sqlite', file: copy });
    // As half of a transaction that is being written looks from outside.
    const { id: clinicianId } = await store.read((db) =>
      db.selectFrom('clinician').select('id').executeTakeFirstOrThrow(),
    );
    const [id = ''] = newest.keys();
    await store.write((db) =>
      changeState(db, { prescriptionId: id, state: 'ended', clinicianId, reason: 'r', nowMs: now }),
    );
    await writeFile(`${copy}-wal`, flip(await readFile(`${copy}-wal`), 32 + 24 + 100));
    const database = { kind: 'sqlite', file: copy } as const;
    await expect(
      readSnapshot(database, (db) => db.selectFrom('clinic').select('id').execute()),
    ).resolves.toHaveLength(1);
    await store.close();
  });

  it('whose last transaction may be missing says so', async () => {
    const torn = flip(log, log.length - 100);
    expect(inspectLog(torn)).toBe('torn');
    const copy = await copyOf(await readFile(join(folder, 'left.db')));
    await writeFile(`${copy}-wal`, torn);
    const store = await openStore({ kind: 'sqlite', file: copy });
    expect(store.mayLackLast).toBe(true);
    expect(await told(store)).toEqual([{ code: 'last-change', times: 1 }]);
    await store.close();
    const again = await openStore({ kind: 'sqlite', file: copy });
    expect(again.mayLackLast).toBe(false);
    expect(await told(again), 'kept, and not told twice').toEqual([{ code: 'last-change', times: 1 }]);
    await again.close();
  });

  it('is told to have lost its last transaction by the first opening that does not fail', async () => {
    const copy = await copyOf(await readFile(join(folder, 'left.db')));
    await writeFile(`${copy}-wal`, flip(log, log.length - 100));
    // What an opening has found, and could not write down any more.
    const { dialect, release, mayLackLast } = await openSqlite(copy);
    expect(mayLackLast).toBe(true);
    await new Kysely<Database>({ dialect }).destroy();
    release();
    const store = await openStore({ kind: 'sqlite', file: copy });
    expect(store.mayLackLast).toBe(true);
    expect(await told(store)).toEqual([{ code: 'last-change', times: 1 }]);
    await store.close();
  });

  it('keeps nothing of a transaction that was cut off: the next kill or power cut is no damage', async () => {
    const copy = await copyOf(await readFile(join(folder, 'left.db')));
    await writeFile(`${copy}-wal`, flip(log, log.length - 100));
    const store = await openStore({ kind: 'sqlite', file: copy });
    await store.write((db) => db.updateTable('clinic').set({ name: 'After the cut' }).execute());
    const killed = await copyOf(await readFile(copy));
    const left = await readFile(`${copy}-wal`);
    await store.close();
    expect(left.length).toBeGreaterThan(0);
    expect(inspectLog(left)).toBe('whole');
    // The power fails again, while that was written.
    await writeFile(`${killed}-wal`, flip(left, left.length - 100));
    const again = await openStore({ kind: 'sqlite', file: killed });
    expect(again.mayLackLast).toBe(true);
    await again.close();
  });
});
