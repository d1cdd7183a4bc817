import { randomUUID } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { parse } from 'yaml';
import { hashToken } from '../../../src/clinic/tokens.js';
import { addDays, isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import { beginSignIn } from '../../../src/store/accounts/signInSessions.js';
import type { Db } from '../../../src/store/engine/openStore.js';
import { makeLink } from '../../../src/store/listening/listeningLinks.js';
import { saveCheckIn, saveSteps } from '../../../src/store/listening/listeningRecords.js';
import { signVersion } from '../../../src/store/prescribing/prescriptions.js';
import { dayMs } from '../../../src/time/units.js';
import { addBenchPatient, type BenchClinic, makeBenchClinic } from '../benchClinic.js';

const zone = 'Europe/Vienna';
const starter = new URL('../../../audio-templates/en/programs/progressed.yaml', import.meta.url);
/** The number of versions in the year of the patient whose page is requested. */
const versionsAYear = 8;

/**
 * Fills a clinic in which everybody listened twice a day for the last two weeks, and one patient for a year with an
 * answer each time; signed in with a token.
 *
 * @returns the id of that patient
 */
export async function fillWithSessions(db: Db, people: number, token: string): Promise<string> {
  const nowMs = Date.now();
  const content = {
    ...{ format: 'stillcount-prescription/1', timesADay: 2 },
    program: parse(await readFile(starter, 'utf8')),
  };
  const clinic = await makeBenchClinic(db, nowMs - 400 * dayMs);
  const signIn = { tokenHash: hashToken(token), clinicianId: clinic.clinicianId, formToken: 'form', nowMs };
  await beginSignIn(db, { ...signIn, expiresAtMs: nowMs + 3_600_000 });
  const ids: string[] = [];
  for (let index = 0; index < people; index += 1) {
    const days = index === 0 ? 365 : 14;
    const at = { name: `Person ${index}`, content, nowMs: nowMs - (days + 1) * dayMs };
    const patientId = await addBenchPatient(db, clinic, at);
    await db.updateTable('patient').set({ zone }).where('id', '=', patientId).execute();
    await listen(db, clinic, { patientId, content, days, nowMs });
    ids.push(patientId);
  }
  // The advice is already computed, as on any day but the first.
  await db
    .updateTable('adviceWatch')
    .set({ lookAtMs: nowMs + dayMs })
    .execute();
  const [first] = ids;
  if (first === undefined) throw new RangeError('somebody is to be asked for');
  return first;
}

type Listener = { patientId: string; content: object; days: number; nowMs: number };

async function listen(
  db: Db,
  { clinicId, clinicianId }: BenchClinic,
  { patientId, content, days, nowMs }: Listener,
): Promise<void> {
  const secrets = { tokenHash: randomUUID(), codeHash: randomUUID(), pinHash: null };
  const link = { clinicId, owner: { patientId }, ...secrets, clinicianId, nowMs };
  const linkId = await makeLink(db, { ...link, expiresAtMs: nowMs + dayMs });
  const { id: prescriptionId } = await db
    .selectFrom('prescription')
    .select('id')
    .where('patientId', '=', patientId)
    .executeTakeFirstOrThrow();
  const changes = days < 365 ? 1 : versionsAYear;
  let versionNumber = 1;
  for (let index = 0; index < days * 2; index += 1) {
    const day = addDays(isoDayIn(nowMs, zone), Math.floor(index / 2) - days);
    const place = { slot: `${day}#${1 + (index % 2)}`, sessionNumber: index + 1 };
    const startMs = wallClockInstant(day, index % 2 === 0 ? '09:00' : '17:00', zone);
    if (index >= (versionNumber * days * 2) / changes) {
      const next = {
        title: 'Home program',
        content: JSON.stringify(content),
        screeningId: null,
        reason: 'r',
      };
      await signVersion(db, prescriptionId, versionNumber, {
        ...next,
        signedBy: clinicianId,
        nowMs: startMs - 1,
      });
      versionNumber += 1;
    }
    // Every ninth session is skipped, every seventh is stopped early.
    if (index % 9 === 0) continue;
    const said = (atMs: number) => ({
      ...{ id: randomUUID(), patientId, prescriptionId, versionNumber, ...place, linkId },
      ...{ caregiverId: null, choice: null, atMs, receivedAtMs: atMs },
    });
    const listeningId = randomUUID();
    const heardMs = index % 7 === 0 ? 400_000 : 1_400_000;
    const last = index % 7 === 0 ? ('stopped' as const) : ('finished' as const);
    await saveSteps(db, [
      { ...said(startMs), listeningId, step: 'started', positionMs: 0 },
      { ...said(startMs + heardMs), listeningId, step: last, positionMs: heardMs },
    ]);
    const [painBefore, painAfter, effort] = [index % 6, index % 5, 2 + (index % 4)];
    const answers = JSON.stringify({ done: 'all', painBefore, painAfter, effort, signs: [], note: null });
    await saveCheckIn(db, { ...said(startMs + heardMs + 60_000), listeningId, answers });
  }
}
