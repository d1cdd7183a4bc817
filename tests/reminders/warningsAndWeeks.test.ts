import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { notifyOfNote, notifyOfWarning } from '../../src/reminders/planOthers.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { markNotesRead, saveNote } from '../../src/store/followup/notes.js';
import { answerWarnings, saveCheckIn, saveWarning } from '../../src/store/listening/listeningRecords.js';
import { patientById } from '../../src/store/people/chart.js';
import { openSqliteStore } from '../store/databases.js';
import { firstDay, openWorld, type World, zone } from './world.js';

describe('what is told beside reminders', () => {
  let world: World;
  let close: () => Promise<void>;
  beforeEach(async () => {
    const opened = await openSqliteStore();
    close = opened.close;
    world = await openWorld(opened.store);
  });
  afterEach(() => close());

  /** As a phone reports it. */
  async function warn(id: string): Promise<void> {
    const { store, clinicId, patientId, secrets, now } = world;
    const prescriptionId = await world.prescribe();
    const linkId = await world.giveLink();
    await store.write(async (db) => {
      await saveWarning(db, {
        ...{ id, patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: `${firstDay}#1` },
        ...{ linkId, caregiverId: null, atMs: now(), receivedAtMs: now() },
        ...{ listeningId: null, positionMs: null, signs: '[]' },
      });
      const patient = await patientById(db, clinicId, patientId);
      if (patient === null) throw new RangeError('the patient is there');
      await notifyOfWarning(
        db,
        { clinicId, patient, warningId: id, telling: world.telling, nowMs: now() },
        secrets,
      );
    });
  }

  it('tells a warning sign at any hour, to the clinic and to those caregivers of whom it was agreed', async () => {
    const told = await world.addCaregiver('jonas@example.org');
    await world.addCaregiver('neighbour@example.org');
    await world.agree('caregiver-told-of-warnings', told);
    world.set(wallClockInstant(firstDay, '03:10', zone));
    await warn('w1');
    await world.runner.sendWarnings();
    expect(world.sent.map(({ to, kind, isUrgent }) => [to, kind, isUrgent])).toEqual([
      ['ada@example.org', 'warning', true],
      ['jonas@example.org', 'warning', true],
    ]);
    const [clinician, caregiver] = world.sent;
    expect(JSON.stringify(clinician), 'a letter to the clinic names nobody').not.toMatch(/Rosa|Lind/);
    expect(clinician?.unsubscribe, 'nobody can end it by mistake').toBeNull();
    expect(caregiver?.text).toContain('Rosa has reported that something was wrong. It reached the clinic');
    expect(caregiver?.text).toContain('on Monday, November 30 at 3:10 AM');
    await world.run();
    expect(world.sent, 'once').toHaveLength(2);
  });

  it('tells it again and again until it is told or answered, and holds reminders back meanwhile', async () => {
    await world.agree('reminders');
    world.set(wallClockInstant(firstDay, '08:00', zone));
    await warn('w1');
    const later = { outcome: 'later', why: 'mail-unreachable' } as const;
    world.recording.answer(...Array.from({ length: 3 }, () => later));
    await world.runEveryMinute(
      wallClockInstant(firstDay, '08:00', zone),
      wallClockInstant(firstDay, '09:10', zone),
    );
    expect(
      world.sent.map(({ kind }) => kind),
      'and no reminder at nine',
    ).toEqual(['warning']);
    world.sent.length = 0;
    await warn('w2');
    const { store, patientId, clinicianId, now } = world;
    await store.write((db) =>
      answerWarnings(db, patientId, { seenUpToMs: now(), clinicianId, note: 'called', nowMs: now() }),
    );
    await world.run();
    expect(world.sent, 'answered before it was told').toEqual([]);
  });

  it('tries the address of a clinician again for a warning sign, also when it was given up', async () => {
    world.set(wallClockInstant(firstDay, '08:00', zone));
    await warn('w1');
    world.recording.answer({ outcome: 'gone', why: 'mail-no-such-address' });
    await world.runner.sendWarnings();
    expect(world.sent).toEqual([]);
    await warn('w2');
    await world.runner.sendWarnings();
    expect(world.sent).toHaveLength(1);
  });

  /** As a phone reports it, with the signs that its words may name. */
  async function write(id: string, signs: string[]): Promise<void> {
    const { store, clinicId, patientId, secrets, now, telling } = world;
    const prescriptionId = await world.prescribe();
    const linkId = await world.giveLink();
    await store.write(async (db) => {
      await saveCheckIn(db, {
        ...{ id, patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: `${firstDay}#1` },
        ...{ linkId, caregiverId: null, atMs: now(), receivedAtMs: now(), listeningId: id },
        answers: '{"note":"my chest hurts"}',
      });
      await saveNote(db, { checkInId: id, patientId }, { signs, wordsHash: '' });
      const told = { clinicId, patientId, checkInId: id, telling, nowMs: now() };
      if (signs.length > 0) await notifyOfNote(db, told, secrets);
    });
  }

  it('tells clinicians alone of a note that may name a sign, again until it is read, and not what it says', async () => {
    const caregiver = await world.addCaregiver('jonas@example.org');
    await world.agree('caregiver-told-of-warnings', caregiver);
    world.set(wallClockInstant(firstDay, '03:10', zone));
    await write('n1', ['chest-pain']);
    await world.run();
    expect(world.sent.map(({ to, kind, isUrgent }) => [to, kind, isUrgent])).toEqual([
      ['ada@example.org', 'note', true],
    ]);
    expect(JSON.stringify(world.sent[0])).not.toMatch(/Rosa|Lind|chest|hurts/);
    const [firstAgain = 0] = world.telling.toldAgainAfterMinutes;
    world.set(world.now() + firstAgain * 60_000);
    await world.run();
    expect(world.sent.at(-1)?.subject).toContain('Still not read');
    const { store, patientId, clinicianId, now } = world;
    const unread = [{ checkInId: 'n1' }];
    const reading = { unread, checkInIds: ['n1'], found: 'Bruised', clinicianId, nowMs: now() };
    await store.write((db) => markNotesRead(db, patientId, reading));
    world.sent.length = 0;
    world.set(world.now() + 24 * 3_600_000);
    await world.run();
    expect(world.sent, 'read').toEqual([]);
  });

  it('counts the notes that wait in the letter about the week, without a word of them', async () => {
    const { store, clinicianId } = world;
    world.set(wallClockInstant(firstDay, '09:00', zone));
    await write('n1', ['chest-pain']);
    await write('n2', []);
    await store.write((db) =>
      db.updateTable('clinician').set({ wantsDigest: 1 }).where('id', '=', clinicianId).execute(),
    );
    const clinic = await store.read((db) => db.selectFrom('clinic').select('zone').executeTakeFirstOrThrow());
    const next = wallClockInstant('2026-12-14', '08:00', clinic.zone);
    await world.runEveryMinute(next, next + 60_000);
    const letter = world.sent.find(({ kind }) => kind === 'digest');
    expect(letter?.text).toContain('Unread notes: 2, of which 1 may name a warning sign.');
    expect(JSON.stringify(letter)).not.toMatch(/Rosa|Lind|chest|hurts/);
  });

  it('sends the week on Monday morning of the clinic, once, and only to who asked for it', async () => {
    const { store, clinicId, clinicianId } = world;
    await store.write(async (db) => {
      await db.updateTable('clinic').set({ zone: 'America/New_York' }).where('id', '=', clinicId).execute();
    });
    const monday = wallClockInstant('2026-12-07', '08:00', 'America/New_York');
    await world.runEveryMinute(monday - 60_000, monday + 60_000);
    expect(world.sent).toEqual([]);
    await store.write((db) =>
      db.updateTable('clinician').set({ wantsDigest: 1 }).where('id', '=', clinicianId).execute(),
    );
    const next = wallClockInstant('2026-12-14', '08:00', 'America/New_York');
    await world.runEveryMinute(next - 2 * 60_000, next + 3 * 60_000);
    expect(world.sent.map(({ kind, to, atMs }) => [kind, to, atMs])).toEqual([
      ['digest', 'ada@example.org', next],
    ]);
    expect(world.sent[0]?.text).toContain('patients who listened: 0; sessions completed: 0.');
    expect(JSON.stringify(world.sent[0])).not.toMatch(/Rosa|Lind/);
  });
});
