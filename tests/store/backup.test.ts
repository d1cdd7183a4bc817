import { createHash } from 'node:crypto';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { sql } from 'kysely';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { usualReminderRules } from '../../src/schedule/reminders.js';
import { makeAccessKey } from '../../src/store/accounts/accessKeys.js';
import { addAuditEntry, auditTrail } from '../../src/store/accounts/audit.js';
import { hasClinic } from '../../src/store/accounts/clinicians.js';
import { replaceRecoveryCodes } from '../../src/store/accounts/recoveryCodes.js';
import { type Db, openStore, type Store, type StoreSettings } from '../../src/store/engine/openStore.js';
import { markNotesRead, saveNote } from '../../src/store/followup/notes.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import {
  answerWarnings,
  saveCheckIn,
  saveFeedDelivery,
  saveNotToday,
  saveSteps,
  saveWarning,
} from '../../src/store/listening/listeningRecords.js';
import { addBreak } from '../../src/store/people/careBreaks.js';
import { addCaregiver, recordConsent } from '../../src/store/people/caregivers.js';
import { prescriptionsOf, versionsOf } from '../../src/store/people/chart.js';
import { addContact } from '../../src/store/people/contacts.js';
import { createPatient, listPatients } from '../../src/store/people/patients.js';
import { saveClinicProgram } from '../../src/store/prescribing/clinicPrograms.js';
import { saveUnplayable } from '../../src/store/prescribing/notPlayed.js';
import { changeState, createPrescription, writeDraft } from '../../src/store/prescribing/prescriptions.js';
import { insertDeliveries } from '../../src/store/reminding/deliveries.js';
import { saveReminderRules } from '../../src/store/reminding/reminderRules.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { backUp, restore } from '../../src/store/service/backup.js';
import { serviceSecret } from '../../src/store/service/serviceSecrets.js';
import { Sqlite } from '../sqlite.js';
import { releasedSteps, whyNoServer } from './databases.js';
import { addFollowUpRows } from './followUpRows.js';
import { makeClinic } from './people.js';
import { makePostgresServer, postgresPrograms } from './postgresServer.js';

let folder: string;
let sqlite: StoreSettings;
let file: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-backup-'));
  sqlite = { kind: 'sqlite', file: join(folder, 'clinic.db') };
  file = join(folder, 'backup.jsonl');
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const nowMs = Date.UTC(2026, 10, 25);
const strange = 'José "quoted" \\ \u2028 🙂\u0001';

async function seed(store: Store, people = 60): Promise<string> {
  return store.write(async (db) => {
    const made = await makeClinic(db, nowMs);
    for (let index = 0; index < people; index += 1) {
      const name = index === 0 ? strange : `Person ${index}`;
      const words = { name, spokenName: '', sayAs: '', birthYear: index === 0 ? null : 1940, language: 'en' };
      const rest = { zone: 'UTC', phone: '', email: '', hearingNotes: '', goals: [strange] };
      const patientId = await createPatient(db, made.clinicId, { ...words, ...rest }, nowMs);
      const signing = {
        title: name,
        content: '{}',
        screeningId: null,
        reason: strange,
        signedBy: made.clinicianId,
        nowMs,
      };
      await createPrescription(db, patientId, signing);
      await addAuditEntry(db, {
        ...made,
        patientId,
        action: 'patient-added',
        subject: patientId,
        atMs: nowMs,
      });
    }
    const { clinicId, clinicianId } = made;
    const [patient] = (await listPatients(db, clinicId, 'person')).patients;
    const patientId = patient?.id ?? '';
    await addScreening(db, { patientId, answers: `{"said":"${people}"}`, stops: true, clinicianId, nowMs });
    const contact = { name: strange, relation: '', phone: '', email: '' };
    const caregiverId = await addCaregiver(db, patientId, contact, { personId: null, nowMs });
    const said = { kind: 'caregiver-reminded', isGiven: true, onDate: '2026-11-25', note: strange } as const;
    await recordConsent(db, { ...said, patientId, caregiverId, clinicianId, nowMs });
    await saveClinicProgram(db, { clinicId, clinicianId, title: strange, content: '{}', nowMs });
    await replaceRecoveryCodes(db, clinicianId, { codeHashes: ['code'], nowMs });
    const key = { tokenHash: 'key', clinicianId, name: strange, mayWrite: true, nowMs };
    await makeAccessKey(db, key);
    const place = { clinicianId, patientId, prescriptionId: null };
    await writeDraft(db, place, { content: strange, basedOnNumber: 0, updatedAtMs: nowMs });
    await seedListening(db, { clinicId, clinicianId, patientId });
    await seedReminders(db, { clinicId, clinicianId, patientId });
    await seedFollowUp(db, { clinicId, clinicianId, patientId });
    return clinicId;
  });
}

async function seedListening(
  db: Db,
  { clinicId, clinicianId, patientId }: { clinicId: string; clinicianId: string; patientId: string },
): Promise<void> {
  const secrets = { tokenHash: 'token', codeHash: 'code', pinHash: null };
  const link = { clinicId, owner: { patientId }, ...secrets, clinicianId, nowMs, expiresAtMs: nowMs + 1 };
  const linkId = await makeLink(db, link);
  const [prescription] = await prescriptionsOf(db, clinicId, patientId);
  const said = {
    id: 'told',
    patientId,
    prescriptionId: prescription?.id ?? '',
    versionNumber: 1,
    sessionNumber: 1,
    slot: '2026-11-25#1',
    linkId,
    caregiverId: null,
    atMs: nowMs,
    receivedAtMs: nowMs,
  };
  const pause = {
    prescriptionId: said.prescriptionId,
    state: 'paused',
    clinicianId,
    reason: strange,
  } as const;
  await saveUnplayable(db, patientId, { prescriptionIds: [said.prescriptionId], nowMs });
  await changeState(db, { ...pause, nowMs });
  await saveSteps(db, [{ ...said, listeningId: 'l', step: 'started', positionMs: 0 }]);
  await saveNotToday(db, { ...said, reason: 'away' });
  await saveFeedDelivery(db, said);
  await saveCheckIn(db, { ...said, listeningId: 'l', answers: JSON.stringify({ note: strange }) });
  await saveNote(db, { checkInId: said.id, patientId }, { signs: [], wordsHash: strange });
  const unread = [{ checkInId: said.id }];
  await markNotesRead(db, patientId, { unread, checkInIds: [said.id], found: strange, clinicianId, nowMs });
  await saveWarning(db, { ...said, listeningId: null, positionMs: null, signs: '[]' });
  await answerWarnings(db, patientId, { seenUpToMs: nowMs, clinicianId, note: strange, nowMs });
}

async function seedReminders(
  db: Db,
  { clinicId, clinicianId, patientId }: { clinicId: string; clinicianId: string; patientId: string },
): Promise<void> {
  await saveReminderRules(db, patientId, usualReminderRules);
  const away = { kind: 'holiday', fromDay: '2026-12-01', untilDay: null, note: strange } as const;
  await addBreak(db, patientId, { ...away, clinicianId, nowMs });
  const mail = { channel: 'mail', address: '"p@example.org"', unsubscribeHashOf: () => 'hash' } as const;
  const contactId = await addContact(db, { clinicId, owner: { patientId }, ...mail, nowMs });
  const about = { key: strange, clinicId, patientId, kind: 'warning', subject: 'told' } as const;
  const slot = { prescriptionId: null, slot: null, slotDueAtMs: null, caregiverId: null };
  const times = { forAtMs: nowMs, nextAtMs: nowMs, goodUntilMs: nowMs + 1 };
  await insertDeliveries(db, [{ ...about, ...slot, ...times, contactId }]);
  await serviceSecret(db, 'secret', { make: () => strange, nowMs });
}

/** One row in each table of the follow-up that has none yet, and of somebody who was erased. */
async function seedFollowUp(
  db: Db,
  { clinicId, clinicianId, patientId }: { clinicId: string; clinicianId: string; patientId: string },
): Promise<void> {
  const [prescription] = await prescriptionsOf(db, clinicId, patientId);
  await addFollowUpRows(db, {
    ...{ clinicId, clinicianId, patientId, measureOf: null, text: strange, nowMs },
    prescriptionId: prescription?.id ?? '',
  });
  await db
    .insertInto('erasure')
    .values({ clinicianId, atMs: nowMs, patientId: 'gone', clinicId, why: 'asked-for' })
    .execute();
}

/** Who restores signs in anew; the rest of these is the database's own. */
const leftOut = [
  'invitation',
  'signInSession',
  'accountLink',
  'incident',
  'kysely_migration',
  'kysely_migration_lock',
];

/** Every row of every table that the database has, but the moment at which a restored key was ended. */
async function everything(store: Store): Promise<unknown> {
  return store.read(async (db) => {
    const names = (await db.introspection.getTables()).map(({ name }) => name).sort();
    const rows: Record<string, string[]> = {};
    for (const name of names.filter((each) => !leftOut.includes(each))) {
      const found = await sql<object>`select * from ${sql.table(name)}`.execute(db);
      expect(found.rows.length, `${name} is empty: a backup could leave it out unseen`).toBeGreaterThan(0);
      rows[name] = found.rows
        .map((row) => JSON.stringify('endedAtMs' in row ? { ...row, endedAtMs: 0 } : row))
        .sort();
    }
    return rows;
  });
}

/** Everything of a clinic that pages can show. */
async function shown(store: Store, clinicId: string): Promise<unknown> {
  return store.read(async (db) => {
    const { patients: people } = await listPatients(db, clinicId, '');
    const trail = await auditTrail(db, clinicId, {});
    const programs = [];
    for (const { id } of people) {
      for (const program of await prescriptionsOf(db, clinicId, id)) {
        programs.push({ program, versions: await versionsOf(db, program.id) });
      }
    }
    return { people, trail, programs };
  });
}

describe('a backup', () => {
  it('is taken while the service runs, and restores to the same in an empty database', async () => {
    const store = await openStore(sqlite);
    const clinicId = await seed(store);
    const rows = await backUp(sqlite, file);
    expect(
      rows,
      'a clinic, its owner with a recovery code, and seven rows for each person, six of other kinds, ten of listening, a pause and what could not be played, five of reminders, a listening and six of the follow-up; who must be seen first needs attention once',
    ).toBe(3 + 7 * 60 + 6 + 10 + 2 + 5 + 1 + 6);
    const before = [await shown(store, clinicId), await everything(store)];
    await store.close();
    const other: StoreSettings = { kind: 'sqlite', file: join(folder, 'other.db') };
    const started = await openStore(other);
    // As a service leaves it that was started before the backup was put in.
    await started.write((db) => serviceSecret(db, 'secret', { make: () => 'made at the start', nowMs }));
    await started.close();
    expect(await restore(file, other)).toBe(rows);
    const restored = await openStore(other);
    expect([await shown(restored, clinicId), await everything(restored)]).toEqual(before);
    const [key] = await restored.read((db) => db.selectFrom('accessKey').select('endedAtMs').execute());
    expect(key?.endedAtMs, 'a key does not come to life again').not.toBeNull();
    await restored.close();
    await expect(restore(file, other), 'a second time').rejects.toThrow('already has a clinic');
  });

  it('carries a clinic from SQLite to PostgreSQL and back', async (context) => {
    const programs = postgresPrograms();
    if (programs === undefined) {
      if (process.env.CI !== undefined) expect.unreachable(whyNoServer);
      return context.skip(whyNoServer);
    }
    const server = await makePostgresServer(programs);
    try {
      const store = await openStore(sqlite);
      const clinicId = await seed(store);
      const before = await shown(store, clinicId);
      await store.close();
      await backUp(sqlite, file);
      const postgres: StoreSettings = { kind: 'postgres', url: server.url, backups: join(folder, 'backups') };
      await restore(file, postgres);
      const moved = await openStore(postgres);
      expect(await shown(moved, clinicId)).toEqual(before);
      const entry = {
        clinicId,
        patientId: null,
        clinicianId: null,
        action: 'after',
        subject: 's',
        atMs: nowMs,
      };
      await moved.write((db) => addAuditEntry(db, entry));
      await moved.close();
      const second = join(folder, 'second.jsonl');
      expect(await backUp(postgres, second)).toBe(3 + 7 * 60 + 6 + 10 + 2 + 5 + 1 + 6 + 1);
      const back: StoreSettings = { kind: 'sqlite', file: join(folder, 'back.db') };
      await restore(second, back);
    } finally {
      await server.remove();
    }
  });

  it('that is changed or cut anywhere is refused, and nothing of it is kept', async () => {
    const store = await openStore(sqlite);
    await seed(store, 3);
    await store.close();
    await backUp(sqlite, file);
    const whole = await readFile(file);
    const other: StoreSettings = { kind: 'sqlite', file: join(folder, 'other.db') };
    const damagedFile = join(folder, 'damaged.jsonl');
    await fc.assert(
      fc.asyncProperty(fc.nat(whole.length - 2), fc.constantFrom('cut', 'flip'), async (at, how) => {
        const bytes = Buffer.from(how === 'cut' ? whole.subarray(0, at) : whole);
        if (how === 'flip') bytes[at] = (bytes[at] ?? 0) ^ 1;
        await writeFile(damagedFile, bytes);
        await expect(restore(damagedFile, other)).rejects.toMatchObject({ kind: 'input' });
      }),
      { numRuns: 60 },
    );
    const untouched = await openStore(other);
    expect(await untouched.read(hasClinic)).toBe(false);
    await untouched.close();
  });

  it('of every released schema is put in and brought up to date, also one that no version has updated yet', async () => {
    for (const step of await releasedSteps()) {
      const old = join(folder, `${step}.db`);
      const database = new Sqlite(old);
      const kept = await readFile(join(import.meta.dirname, 'released', `${step}.sql`), 'utf8');
      database.exec(kept);
      database.close();
      await backUp({ kind: 'sqlite', file: old }, file);
      const fresh: StoreSettings = { kind: 'sqlite', file: join(folder, `${step}-restored.db`) };
      await restore(file, fresh);
      const store = await openStore(fresh);
      const names = await store.read((db) => db.selectFrom('patient').select('name').execute());
      expect(names, step).toEqual([{ name: 'Rosa Lind' }]);
      const screenings = await store.read((db) => db.selectFrom('screening').select('id').execute());
      expect(screenings, step).toHaveLength(kept.split('insert into "screening"').length - 1);
      await store.close();
    }
    const [first = ''] = await releasedSteps();
    await writeFile(file, (await readFile(file, 'utf8')).replace(/"step":"[^"]+"/, `"step":"${first}"`));
    const text = (await readFile(file, 'utf8')).trimEnd().split('\n').slice(0, -1).join('\n');
    const sha256 = createHash('sha256').update(`${text}\n`).digest('hex');
    await writeFile(file, `${text}\n${JSON.stringify({ rows: text.split('\n').length - 1, sha256 })}\n`);
    const opened = await openStore(sqlite);
    await opened.close();
    await expect(restore(file, sqlite)).rejects.toThrow('this database is newer than the backup');
  });

  it('of another version, or none at all, is named', async () => {
    await expect(restore(join(folder, 'none'), sqlite)).rejects.toThrow('there is no such file');
    await writeFile(file, '{"format":"stillcount-backup/1","step":"0009-later"}\n');
    await expect(restore(file, sqlite)).rejects.toThrow('a newer version');
    const nowhere: StoreSettings = { kind: 'sqlite', file: join(folder, 'nowhere', 'clinic.db') };
    await expect(backUp(nowhere, file)).rejects.toThrow('there is no database here yet');
    expect(await readFile(file, 'utf8'), 'an earlier backup stays').toContain('0009-later');
  });
});
