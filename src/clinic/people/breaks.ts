import { z } from 'zod';
import { addDays, isoDayIn } from '../../schedule/wallClock.js';
import { auditActor } from '../../store/accounts/audit.js';
import type { Db } from '../../store/engine/openStore.js';
import { addBreak, endBreak } from '../../store/people/careBreaks.js';
import type { CareBreak } from '../../store/people/chart.js';
import { changeState } from '../../store/prescribing/prescriptions.js';
import { breakKinds } from '../../store/schema/reminderSchema.js';
import { type Actor, requireMayWrite } from '../actor.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm, text } from '../values.js';
import { type Chart, lockOwnChart } from './chart.js';

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
    const chart = await lockOwnChart(db, actor, patientId);
    const today = isoDayIn(actor.nowMs, chart.patient.zone);
    if (fromDay < addDays(today, -mostDays) || fromDay > addDays(today, mostDays)) {
      throw refused('break-too-far', { field: 'fromDay' });
    }
    requireInOrder(fromDay, untilDay);
    const clinicianId = actor.clinician.id;
    const days = { kind, fromDay, untilDay, note: noteText };
    const id = await addBreak(db, patientId, { ...days, clinicianId, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'break-added' });
    if (kind !== 'hospital' || fromDay > today) return;
    await pauseAfterHospital(db, actor, chart, words.breakKinds.hospital);
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
    const chart = await lockOwnChart(db, actor, patientId);
    const found = await ownBreak(chart, id);
    requireInOrder(found.fromDay, last);
    const isHospital = found.kind === 'hospital';
    if (isHospital && last > isoDayIn(actor.nowMs, chart.patient.zone)) {
      throw refused('hospital-not-over', { field: 'untilDay' });
    }
    await endBreak(db, patientId, { id, untilDay: last, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'break-ended' });
    if (isHospital) await pauseAfterHospital(db, actor, chart, words.breakKinds.hospital);
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
    const chart = await lockOwnChart(db, actor, patientId);
    const { kind, fromDay } = await ownBreak(chart, id);
    await endBreak(db, patientId, { id, untilDay: null, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: id, action: 'break-taken-back' });
    if (kind !== 'hospital' || fromDay > isoDayIn(actor.nowMs, chart.patient.zone)) return;
    await pauseAfterHospital(db, actor, chart, words.breakKinds.hospital);
  });
}

async function ownBreak(chart: Chart, id: string): Promise<CareBreak> {
  const found = (await chart.breaks()).find((each) => each.id === id);
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

/**
 * Pauses the active programs: after a hospital stay nothing continues by itself, whatever its dates. Runs in the
 * transaction that records the stay.
 *
 * @param reason in the clinician's words
 */
async function pauseAfterHospital(db: Db, actor: Actor, locked: Chart, reason: string): Promise<void> {
  const patientId = locked.patient.id;
  for (const { id: prescriptionId, state } of await locked.programs()) {
    if (state !== 'active') continue;
    const step = { prescriptionId, state: 'paused', clinicianId: actor.clinician.id, reason } as const;
    await changeState(db, { ...step, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: prescriptionId, action: 'prescription-paused' });
  }
}
