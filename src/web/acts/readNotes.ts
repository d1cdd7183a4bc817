import { lockPatient } from '../../store/lockPatient.js';
import { markNotesRead } from '../../store/notes.js';
import { patientChanged } from '../../store/patientChanged.js';
import { notAllowed } from '../refusals.js';
import type { Service } from '../service.js';
import { type Actor, note, requireMayWrite } from './actor.js';
import { ownPatient } from './records.js';

const mostAtOnce = 1_000;

/**
 * Writes down that a clinician has read notes of a patient: those that the page showed, so that one that came meanwhile
 * goes on waiting. Reading one twice changes nothing.
 *
 * @throws Refusal for somebody who may only read, or for another program
 */
export async function readNotes(
  service: Service,
  actor: Actor,
  patientId: string,
  checkInIds: readonly string[],
): Promise<void> {
  requireMayWrite(actor);
  if (actor.accessKeyId !== null) throw notAllowed('Only a clinician reads a note, on its page');
  await service.store.write(async (db) => {
    await ownPatient(db, actor, patientId);
    await lockPatient(db, patientId);
    const reading = { clinicianId: actor.clinician.id, nowMs: actor.nowMs };
    const read = await markNotesRead(db, patientId, {
      ...reading,
      checkInIds: checkInIds.slice(0, mostAtOnce),
    });
    for (const subject of read) await note(db, actor, { patientId, subject, action: 'note-read' });
    if (read.length > 0) await patientChanged(db, patientId);
  });
}
