import { z } from 'zod';
import { refreshAttention } from '../../store/attention.js';
import { answerWarning } from '../../store/listeningRecords.js';
import { lockPatient } from '../../store/patients.js';
import { parsedForm, reasonSchema } from '../forms/values.js';
import { conflict, notAllowed } from '../refusals.js';
import type { Service } from '../service.js';
import { type Actor, note, requireMayWrite } from './actor.js';
import { ownPatient } from './records.js';

/**
 * Writes down what a clinician did about a warning sign. Once every warning of a patient is answered their programs
 * play again, unless she has paused them.
 *
 * @throws Refusal for somebody who may only read, for another program, or when it was answered already;
 *   StillcountError kind `input` without a note
 */
export async function settleWarning(
  { store }: Service,
  actor: Actor,
  { patientId, warningId, words }: { patientId: string; warningId: string; words: string },
): Promise<void> {
  requireMayWrite(actor);
  if (actor.accessKeyId !== null) throw notAllowed('Only a clinician answers a warning sign, on its page');
  parsedForm(z.object({ note: reasonSchema }), { note: words });
  await store.write(async (db) => {
    await ownPatient(db, actor, patientId);
    await lockPatient(db, patientId);
    const answer = { warningId, clinicianId: actor.clinician.id, note: words, nowMs: actor.nowMs };
    if (!(await answerWarning(db, patientId, answer))) {
      throw conflict('Somebody has answered this already, or it is not here');
    }
    await refreshAttention(db, patientId);
    await note(db, actor, { patientId, subject: warningId, action: 'warning-answered' });
  });
}
