/**
 * Measures how much space a year of one patient takes in the database and in a backup: two sessions a day, each with a
 * reminder, heard to its end and with answers; a new version each month, an interview each quarter, and the record
 * opened every day.
 *
 *     npx tsx scripts/bench/growth.ts
 */
import '../heartbeat.js';
import { randomUUID } from 'node:crypto';
import { mkdtemp, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { sql } from 'kysely';
import { parse } from 'yaml';
import { addDays, wallClockInstant } from '../../src/schedule/wallClock.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readClinicWords.js';
import { addAuditEntry } from '../../src/store/accounts/audit.js';
import { type Db, openStore } from '../../src/store/engine/openStore.js';
import { saveCheckIn, saveSteps } from '../../src/store/listening/listeningRecords.js';
import { signVersion } from '../../src/store/prescribing/prescriptions.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { backUp } from '../../src/store/service/backup.js';
import { firstDay, openWorld, templates, zone } from '../../tests/reminders/world.js';

const daysAYear = 365;
const times = ['08:00', '17:00'];
const sessionMs = 18 * 60_000;
/** A phone reports its position each minute and at each chapter; a session of 18 minutes has about 9 chapters. */
const reachedASession = 26;
const starter = join(templates, 'en', 'programs', 'progressed.yaml');

const folder = await mkdtemp(join(tmpdir(), 'stillcount-growth-'));
try {
  const settings = { kind: 'sqlite' as const, file: join(folder, 'clinic.db') };
  const content = JSON.stringify({
    ...{ format: 'stillcount-prescription/1', timesADay: times.length, timesOfDay: times },
    program: parse(await readFile(starter, 'utf8')),
  });
  const { precautions } = await readInterview(templates, await readCatalogues(templates));
  const answers = JSON.stringify(
    Object.fromEntries(precautions.map(({ id, name }) => [id, { answer: 'no', details: '', asked: name }])),
  );
  const store = await openStore(settings);
  const world = await openWorld(store);
  const { clinicId, clinicianId, patientId } = world;
  const person = { clinicId, clinicianId, patientId };
  await world.agree('reminders');
  const prescriptionId = await world.prescribe({ timesADay: times.length, timesOfDay: times });
  const linkId = await world.giveLink();
  let versionNumber = 1;
  const before = await sizes();
  for (let day = 0; day < daysAYear; day += 1) {
    const date = addDays(firstDay, day);
    for (const [index, time] of times.entries()) {
      const atMs = wallClockInstant(date, time, zone);
      world.set(atMs);
      await world.run();
      await store.write((db) => listen(db, { slot: `${date}#${index + 1}`, atMs, number: 2 * day + index }));
    }
    const nowMs = world.now();
    await store.write(async (db) => {
      await addAuditEntry(db, { ...person, action: 'patient-read', subject: patientId, atMs: nowMs });
      if (day % 91 === 90) await addScreening(db, { ...person, answers, stops: false, nowMs });
      if (day % 30 !== 29) return;
      const signing = { title: 'Home', content, screeningId: null, reason: 'one more repetition' };
      await signVersion(db, prescriptionId, versionNumber, { ...signing, signedBy: clinicianId, nowMs });
      versionNumber += 1;
    });
  }
  const after = await sizes();
  await store.close();
  const megabytes = (bytes: number) => `${(bytes / 1e6).toFixed(1)} MB`;
  console.log(`reminders sent: ${world.sent.length}`);
  console.log(`database: ${megabytes(after.database - before.database)} a year`);
  console.log(`backup: ${megabytes(after.backup - before.backup)} a year`);

  async function sizes(): Promise<{ database: number; backup: number }> {
    const backup = join(folder, `${randomUUID()}.backup`);
    await backUp(settings, backup);
    const { rows } = await store.read((db) =>
      sql<{
        bytes: number;
      }>`select page_count * page_size as bytes from pragma_page_count, pragma_page_size`.execute(db),
    );
    return { database: rows[0]?.bytes ?? Number.NaN, backup: (await stat(backup)).size };
  }

  async function listen(
    db: Db,
    { slot, atMs, number }: { slot: string; atMs: number; number: number },
  ): Promise<void> {
    const place = { patientId, prescriptionId, versionNumber, sessionNumber: number + 1, slot, linkId };
    const said = (saidAtMs: number) => ({
      ...{ id: randomUUID(), ...place, caregiverId: null, choice: null },
      ...{ atMs: saidAtMs, receivedAtMs: saidAtMs },
    });
    const listeningId = randomUUID();
    const step = (name: 'started' | 'reached' | 'finished', positionMs: number) => ({
      ...{ ...said(atMs + positionMs), listeningId, step: name, positionMs },
    });
    await saveSteps(db, [
      step('started', 0),
      ...Array.from({ length: reachedASession }, (_each, index) =>
        step('reached', Math.round(((index + 1) * sessionMs) / (reachedASession + 1))),
      ),
      step('finished', sessionMs),
    ]);
    const given = { done: 'all', painBefore: 3, painAfter: 2, effort: 3, signs: [], note: null };
    await saveCheckIn(db, { ...said(atMs + sessionMs), listeningId, answers: JSON.stringify(given) });
  }
} finally {
  await rm(folder, { recursive: true, force: true });
}
