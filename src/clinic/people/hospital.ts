import type { Db } from '../../store/engine/openStore.js';
import { changeState, prescriptionsOf } from '../../store/prescribing/prescriptions.js';
import { type Actor, auditActor } from '../actor.js';
import { refused } from '../refusals.js';
import type { Chart } from './chart.js';

/**
 * Pauses what runs: after a stay in hospital nothing goes on by itself, whatever its days were. Run it in the
 * transaction that writes the stay down.
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

/** Whether a stay in the hospital was written down since an interview, of today or before. */
export async function hasBeenInHospital(
  chart: Pick<Chart, 'breaks'>,
  { screenedAtMs, today }: { screenedAtMs: number; today: string },
): Promise<boolean> {
  return (await chart.breaks()).some(
    ({ kind, fromDay, createdAtMs }) => kind === 'hospital' && fromDay <= today && createdAtMs > screenedAtMs,
  );
}

/**
 * Rule SCREEN-9: what was lifted, cut or prescribed in a hospital can change everything: nothing is signed or resumed
 * on an interview from before it.
 *
 * @param screenedAtMs of the interview
 * @param path the field that a complaint stands at
 * @throws Refused where there was a stay in hospital since
 */
export async function requireScreenedSince(
  chart: Pick<Chart, 'breaks'>,
  { screenedAtMs, today, path }: { screenedAtMs: number; today: string; path: string },
): Promise<void> {
  if (!(await hasBeenInHospital(chart, { screenedAtMs, today }))) return;
  throw refused('hospital-since-screening', { field: path });
}
