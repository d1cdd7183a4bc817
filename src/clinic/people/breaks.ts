import { z } from 'zod';
import { addDays, isoDayIn } from '../../schedule/wallClock.js';
import type { Db } from '../../store/engine/openStore.js';
import { addBreak, breaksOf, type CareBreak, endBreak } from '../../store/people/careBreaks.js';
import { breakKinds } from '../../store/schema/reminderSchema.js';
import { type Actor, auditActor, requireMayWrite } from '../actor.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm, text } from '../values.js';
import { pauseAfterHospital } from './hospital.js';
import { findOwnPatient, lockOwnChart } from './openRecord.js';

const mostDays = 366;
const day = z.iso.date({ error: 'a date such as 2026-11-25' });

export const breakSchema = z.strictObject({
  kind: z.enum(breakKinds, { error: 'choose one' }),
  fromDay: day,
  /** Empty for a hospital stay. */
  untilDay: z.union([z.literal(''), day]),
  note: text(300).default(''),
});

/**
 * Adds days on which nothing is due. A hospital stay has no last day: a clinician ends it.
 *
 * @throws Refused for a read-only member, or if there is no such patient; also for invalid days or days out of order
 */
export async function startBreak(
  { store, words }: Pick<Resources, 'store' | 'words'>,
  actor: Actor,
  patientId: string,
  added: z.infer<typeof breakSchema>,
): Promise<void> {
  requireMayWrite(actor);
  const { kind, fromDay, note: noteText } = added;
  const untilDay = added.untilDay === '' ? null : added.untilDay;
  if (kind === 'hospital' && untilDay !== null) {
    throw refused('break-end-not-asked', { field: 'untilDay' });
  }
  if (kind !== 'hospital' && untilDay === null) {
    throw refused('break-end-needed', { field: 'untilDay' });
  }
  await store.write(async (db) => {
    const { zone } = (await lockOwnChart(db, actor, patientId)).patient;
    const today = isoDayIn(actor.nowMs, zone);
    if (fromDay < addDays(today, -mostDays) || fromDay > addDays(today, mostDays)) {
      throw refused('break-too-far', { field: 'fromDay' });
    }
    requireInOrder(fromDay, untilDay);
    const clinicianId = actor.clinician.id;
    const days = { kind, fromDay, untilDay, note: noteText };
    const id = await addBreak(db, patientId, { ...days, clinicianId, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'break-added' });
    if (kind !== 'hospital' || fromDay > today) return;
    await pauseAfterHospital(db, actor, patientId, words.breakKinds.hospital);
  });
}

/**
 * Changes the last day of a break; today or yesterday ends it early. A hospital stay ends today at the latest and
 * pauses the active programs: the patient is re-screened, and a clinician resumes. Errors as for {@link startBreak}.
 */
export async function setBreakEnd(
  { store, words }: Pick<Resources, 'store' | 'words'>,
  actor: Actor,
  patientId: string,
  { id, untilDay }: { id: string; untilDay: string },
): Promise<void> {
  requireMayWrite(actor);
  const last = parseForm(z.object({ untilDay: day }), { untilDay }).untilDay;
  await store.write(async (db) => {
    const { zone } = (await lockOwnChart(db, actor, patientId)).patient;
    const found = await ownBreak(db, actor, patientId, id);
    requireInOrder(found.fromDay, last);
    const isHospital = found.kind === 'hospital';
    if (isHospital && last > isoDayIn(actor.nowMs, zone)) {
      throw refused('hospital-not-over', { field: 'untilDay' });
    }
    await endBreak(db, patientId, { id, untilDay: last, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'break-ended' });
    if (isHospital) await pauseAfterHospital(db, actor, patientId, words.breakKinds.hospital);
  });
}

/**
 * Removes a break as if it had never been recorded. Programs paused by a hospital stay stay paused until a clinician
 * resumes them. Errors as for {@link startBreak}.
 */
export async function withdrawBreak(
  { store, words }: Pick<Resources, 'store' | 'words'>,
  actor: Actor,
  patientId: string,
  id: string,
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    const { zone } = (await lockOwnChart(db, actor, patientId)).patient;
    const { kind, fromDay } = await ownBreak(db, actor, patientId, id);
    await endBreak(db, patientId, { id, untilDay: null, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'break-taken-back' });
    if (kind !== 'hospital' || fromDay > isoDayIn(actor.nowMs, zone)) return;
    await pauseAfterHospital(db, actor, patientId, words.breakKinds.hospital);
  });
}

async function ownBreak(db: Db, actor: Actor, patientId: string, id: string): Promise<CareBreak> {
  await findOwnPatient(db, actor, patientId);
  const found = (await breaksOf(db, patientId)).find((each) => each.id === id);
  if (found === undefined) throw refused('no-such-break');
  return found;
}

function requireInOrder(fromDay: string, untilDay: string | null): void {
  if (untilDay === null) return;
  if (untilDay < fromDay) {
    throw refused('break-out-of-order', { field: 'untilDay' });
  }
  if (untilDay > addDays(fromDay, mostDays)) {
    throw refused('break-too-long', { field: 'untilDay' });
  }
}
