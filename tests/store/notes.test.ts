import { randomUUID } from 'node:crypto';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type BetterSqlite from 'better-sqlite3';
import { sql } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { attentionOf } from '../../src/store/attention/attention.js';
import { lockPatient, refreshAttention } from '../../src/store/attention/patientChanged.js';
import { type Db, openStore, type Store } from '../../src/store/engine/openStore.js';
import { unreadNotesOf } from '../../src/store/followup/history.js';
import {
  countUnreadNotes,
  isNoteRead,
  listNotesToRescan,
  markNotesRead,
  notesReadOf,
  saveNote,
  saveNoteSigns,
} from '../../src/store/followup/notes.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import { saveCheckIn } from '../../src/store/listening/listeningRecords.js';
import { createPrescription } from '../../src/store/prescribing/prescriptions.js';
import { Sqlite } from '../sqlite.js';
import { databases } from './databases.js';
import { makeClinic, makePatient } from './people.js';

const now = Date.UTC(2026, 10, 25, 9);

type Clinic = { clinicId: string; clinicianId: string };

/** Somebody with a program and a link, and a way to keep what their phone tells. */
async function listener(db: Db, { clinicId, clinicianId }: Clinic) {
  const patientId = await makePatient(db, clinicId, now);
  const signing = {
    title: 'Morning',
    content: '{}',
    screeningId: null,
    reason: 'r',
    signedBy: clinicianId,
    nowMs: now,
  };
  const prescriptionId = await createPrescription(db, patientId, signing);
  const secrets = { tokenHash: randomUUID(), codeHash: randomUUID(), pinHash: null };
  const owner = { patientId };
  const linkId = await makeLink(db, {
    clinicId,
    owner,
    ...secrets,
    clinicianId,
    nowMs: now,
    expiresAtMs: now + 1,
  });
  const told = {
    patientId,
    prescriptionId,
    versionNumber: 1,
    sessionNumber: 1,
    slot: '2026-11-25#1',
    linkId,
  };
  return { patientId, told: { ...told, caregiverId: null, listeningId: randomUUID() } };
}

describe.each(databases)('notes, on $name', ({ open }) => {
  let store: Store;
  let close: () => Promise<void>;
  let clinic: Clinic;
  beforeAll(async () => {
    ({ store, close } = await open());
    clinic = await store.write((db) => makeClinic(db, now));
  });
  afterAll(() => close());

  async function written(signs: readonly (readonly string[])[]) {
    const ids = signs.map(() => randomUUID());
    const patientId = await store.write(async (db) => {
      const { patientId: whose, told } = await listener(db, clinic);
      for (const [index, id] of ids.entries()) {
        const at = { atMs: now + index, receivedAtMs: now + 10 * index };
        await saveCheckIn(db, { ...told, ...at, id, answers: JSON.stringify({ note: ` note ${index} ` }) });
        await saveNote(
          db,
          { checkInId: id, patientId: whose },
          { signs: signs[index] ?? [], wordsHash: 'first' },
        );
      }
      await refreshAttention(db, whose);
      return whose;
    });
    return { patientId, ids };
  }
  const reasonsOf = async (patientId: string) =>
    (await store.read((db) => attentionOf(db, clinic.clinicId, 100))).first
      .filter((each) => each.patientId === patientId)
      .map(({ kind, sinceMs }) => [kind, sinceMs]);
  const read = (patientId: string, checkInIds: readonly string[]) =>
    store.write(async (db) => {
      await lockPatient(db, patientId);
      const { clinicianId } = clinic;
      const unread = await unreadNotesOf(db, patientId);
      const reading = { unread, checkInIds, found: 'A bruise', clinicianId, nowMs: now + 100 };
      const marked = await markNotesRead(db, patientId, reading);
      await refreshAttention(db, patientId);
      return marked;
    });

  it('wait until somebody has read them, who and when is kept, and once', async () => {
    const { patientId, ids } = await written([[], [], []]);
    const [first = '', second = '', third = ''] = ids;
    expect((await store.read((db) => unreadNotesOf(db, patientId))).map(({ text }) => text)).toEqual([
      'note 0',
      'note 1',
      'note 2',
    ]);
    expect(await reasonsOf(patientId)).toContainEqual(['unread-note', now]);
    const other = await written([[]]);
    expect(await read(patientId, [first, ...other.ids]), 'not one of somebody else').toEqual([first]);
    expect(await reasonsOf(patientId)).toContainEqual(['unread-note', now + 10]);
    const both = await Promise.all([read(patientId, [second, third]), read(patientId, [second, third])]);
    expect(both.flat().sort(), 'each once, by one of two at once').toEqual([second, third].sort());
    expect((await reasonsOf(patientId)).map(([kind]) => kind)).not.toContain('unread-note');
    const reads = await store.read((db) => notesReadOf(db, patientId));
    expect(reads.get(second)).toEqual({ atMs: now + 100, clinicianName: 'Ada', found: 'A bruise' });
    expect(await store.read((db) => isNoteRead(db, first))).toBe(true);
    expect(await store.read((db) => isNoteRead(db, other.ids[0] ?? ''))).toBe(false);
  });

  it('that may name a sign come before all but a sign itself, and before those that have waited longer', async () => {
    const { patientId, ids } = await written([[], ['chest-pain']]);
    const reasons = await reasonsOf(patientId);
    expect(reasons[0]).toEqual(['urgent-note', now + 10]);
    expect(
      reasons.map(([kind]) => kind),
      'once',
    ).not.toContain('unread-note');
    const [top] = (await store.read((db) => attentionOf(db, clinic.clinicId, 100))).first;
    expect(top?.kind).toBe('urgent-note');
    expect(await store.read((db) => countUnreadNotes(db, clinic.clinicId))).toMatchObject({ urgent: 1 });
    await read(patientId, [ids[1] ?? '']);
    expect((await reasonsOf(patientId)).map(([kind]) => kind)).toContain('unread-note');
    expect(await store.read((db) => countUnreadNotes(db, clinic.clinicId))).toMatchObject({ urgent: 0 });
  });

  it('are looked at again when the list of words has changed, as long as nobody has read them', async () => {
    const { patientId, ids } = await written([[], []]);
    await read(patientId, ids.slice(0, 1));
    const own = (await store.read((db) => listNotesToRescan(db, 'second'))).filter(
      (note) => note.patientId === patientId,
    );
    expect(own).toEqual([{ checkInId: ids[1], patientId, text: 'note 1' }]);
    const named = { signs: ['faint'], wordsHash: 'second' };
    await store.write((db) => saveNoteSigns(db, { checkInId: ids[1] ?? '', patientId }, named));
    expect((await reasonsOf(patientId))[0]?.[0]).toBe('urgent-note');
    const left = await store.read((db) => listNotesToRescan(db, 'second'));
    expect(left.filter((note) => note.patientId === patientId)).toEqual([]);
  });

  it('cannot be made unread again', async () => {
    const { patientId, ids } = await written([[]]);
    await read(patientId, ids);
    for (const change of [sql`update "noteRead" set "atMs" = 0`, sql`delete from "noteRead"`]) {
      await expect(store.write((db) => change.execute(db))).rejects.toThrow(/never changed/);
    }
  });
});

describe('notes of before there was a place for them', () => {
  it('wait to be read, and answers without one do not', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'stillcount-notes-'));
    try {
      const settings = { kind: 'sqlite', file: join(folder, 'clinic.db') } as const;
      const released = join(import.meta.dirname, 'released', '0006-erasure.sql');
      const old = new Sqlite(settings.file);
      old.exec(await readFile(released, 'utf8'));
      const patientId = withAnswers(old, [
        '{"note":"I fell"}',
        '{"note":"  "}',
        '{"note":null}',
        '{"done":"all"}',
        '{"note":"a \\"b\\""}',
      ]);
      old.close();
      const store = await openStore(settings);
      const unread = await store.read((db) => unreadNotesOf(db, patientId));
      expect(unread.map(({ text }) => text)).toEqual(['I fell', 'a "b"']);
      expect(await store.read((db) => listNotesToRescan(db, 'today'))).toHaveLength(2);
      await store.close();
    } finally {
      await rm(folder, { recursive: true, force: true });
    }
  });
});

/** Adds a link and answers to the one person of a database of an earlier version. */
function withAnswers(database: BetterSqlite.Database, answers: readonly string[]): string {
  const { id: prescriptionId, patientId } = database
    .prepare<[], { id: string; patientId: string }>('select "id", "patientId" from "prescription"')
    .get() ?? { id: '', patientId: '' };
  const insert = (table: string, row: Record<string, string | number>) => {
    const names = Object.keys(row).map((name) => `"${name}"`);
    const places = names.map(() => '?').join();
    database
      .prepare(`insert into "${table}" (${names.join()}) values (${places})`)
      .run(...Object.values(row));
  };
  const { clinicId = '', clinicianId = '' } =
    database
      .prepare<[], { clinicId: string; clinicianId: string }>(
        'select "clinicId", "id" as "clinicianId" from "clinician"',
      )
      .get() ?? {};
  const times = { createdAtMs: now, expiresAtMs: now + 1 };
  insert('listeningLink', { id: 'link', clinicId, patientId, codeHash: 'code', clinicianId, ...times });
  for (const [index, said] of answers.entries()) {
    const place = { patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: '2026-11-25#1' };
    const told = { linkId: 'link', listeningId: 'l', atMs: now + index, receivedAtMs: now };
    insert('checkIn', { id: `answer ${index}`, ...place, ...told, answers: said });
  }
  return patientId;
}
