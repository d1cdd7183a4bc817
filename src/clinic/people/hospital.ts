import type { Db } from '../../store/engine/openStore.js';
import { changeState, prescriptionsOf } from '../../store/prescribing/prescriptions.js';
import { type Actor, auditActor } from '../actor.js';
import { refused } from '../refusals.js';
import type { Chart } from './chart.js';

/**
 * Pauses the active programs: after a hospital stay nothing continues by itself, whatever its dates. Runs in the
 * transaction that records the stay.
 *
 * @param reason in the clinician's words
 */
export async function pauseAfterHospital(
  db: Db,
  actor: Actor,
  patientId: string,
  reason: string,
): Promise<void> {
  const { clinicId, id: clinicianId } = actor.clinician;
  for (const { id: prescriptionId, state } of await prescriptionsOf(db, clinicId, patientId)) {
    if (state !== 'active') continue;
    await changeState(db, { prescriptionId, state: 'paused', clinicianId, reason, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId, subject: prescriptionId, action: 'prescription-paused' });
  }
}

/** Whether a hospital stay was recorded since an interview, today's or an earlier one. */
export async function hasBeenInHospital(
  chart: Pick<Chart, 'breaks'>,
  { screenedAtMs, today }: { screenedAtMs: number; today: string },
): Promise<boolean> {
  return (await chart.breaks()).some(
    ({ kind, fromDay, createdAtMs }) => kind === 'hospital' && fromDay <= today && createdAtMs > screenedAtMs,
  );
}

/**
 * Rule SCREEN-9: findings, procedures or prescriptions in a hospital can change everything, so nothing is signed or
 * resumed on the basis of an earlier interview.
 *
 * @param screenedAtMs of the interview
 * @param path the field to report the problem at
 * @throws Refused if there was a hospital stay since then
 */
export async function requireScreenedSince(
  chart: Pick<Chart, 'breaks'>,
  { screenedAtMs, today, path }: { screenedAtMs: number; today: string; path: string },
): Promise<void> {
  if (!(await hasBeenInHospital(chart, { screenedAtMs, today }))) return;
  throw refused('hospital-since-screening', { field: path });
}
