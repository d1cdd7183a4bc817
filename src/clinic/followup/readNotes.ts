import { z } from 'zod';
import { auditActor } from '../../store/accounts/audit.js';
import { scheduleAfterChange } from '../../store/attention/patientChanged.js';
import { markNotesRead } from '../../store/followup/notes.js';
import { type Actor, requireMayWrite } from '../actor.js';
import { lockOwnChart } from '../people/chart.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { parseForm, reasonSchema } from '../values.js';

const mostAtOnce = 1_000;
const findingSchema = z.object({ found: reasonSchema });

/**
 * Records that a clinician has read a patient's notes: the ones that the page showed, so that a note that arrived in
 * the meantime stays unread. Reading one twice changes nothing. A note that may name a warning sign is read separately,
 * with the finding: a fall that is only mentioned must not be dismissed with one touch.
 *
 * @throws Refused for a read-only member or another program; also without a finding for a possible sign
 */
export async function readNotes(
  service: Pick<Resources, 'store'>,
  actor: Actor,
  patientId: string,
  { checkInIds, found }: { checkInIds: readonly string[]; found: string },
): Promise<void> {
  requireMayWrite(actor);
  if (actor.accessKeyId !== null) throw refused('read-on-page-only');
  await service.store.write(async (db) => {
    const chart = await lockOwnChart(db, actor, patientId);
    const unread = await chart.unreadNotes();
    const requested = unread.filter(({ checkInId }) => checkInIds.includes(checkInId));
    const namesSign = requested.some(({ signs }) => signs.length > 0);
    if (namesSign && requested.length > 1) throw refused('warning-note-read-alone');
    const read = await markNotesRead(db, patientId, {
      unread,
      checkInIds: checkInIds.slice(0, mostAtOnce),
      found: namesSign ? parseForm(findingSchema, { found }).found : '',
      ...{ clinicianId: actor.clinician.id, nowMs: actor.nowMs },
    });
    for (const subject of read) await auditActor(db, actor, { patientId, subject, action: 'note-read' });
    if (read.length > 0) await scheduleAfterChange(db, patientId);
  });
}
