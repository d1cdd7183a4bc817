import type { Telling } from '../followup/warningSigns.js';
import { addDays, isoDayIn, mondayOf, wallClockInstant } from '../schedule/wallClock.js';
import type { Db } from '../store/engine/openStore.js';
import type { Patient } from '../store/people/chart.js';
import { insertDeliveries, type NewDelivery } from '../store/reminding/deliveries.js';
import { listDigestReaders, listWarningReaders } from '../store/reminding/weeks.js';
import { hourMs, minuteMs } from '../time/units.js';
import { ensureContacts, recipientsOf } from './recipients.js';
import type { ReminderSecrets } from './secrets.js';

/** A warning that could not be sent for this long is a failure that the clinic sees on its home page. */
const warningGoodForMs = 24 * hourMs;
const digestTime = '08:00';
const digestGoodForMs = 24 * hourMs;

/**
 * Rule WARN-5: a warning sign is sent immediately to the clinic's clinicians, and to the caregivers for whom the
 * patient has agreed to it; and to the clinicians again, as long as no one has recorded what was done. Runs in the
 * transaction that stores the warning, so that neither exists without the other.
 */
export async function notifyOfWarning(
  db: Db,
  {
    clinicId,
    patient,
    warningId,
    telling,
    nowMs,
  }: { clinicId: string; patient: Patient; warningId: string; telling: Telling; nowMs: number },
  secrets: ReminderSecrets,
): Promise<void> {
  const planned: NewDelivery[] = [];
  const add = (contactIds: readonly string[], caregiverId: string | null, afterMs: number) => {
    const forAtMs = nowMs + afterMs;
    for (const contactId of contactIds) {
      planned.push({
        key: `warning ${warningId} ${contactId}${afterMs === 0 ? '' : ` again ${afterMs}`}`,
        ...{ clinicId, patientId: patient.id, kind: 'warning', subject: warningId, contactId, caregiverId },
        ...{ prescriptionId: null, slot: null, slotDueAtMs: nowMs },
        ...{ forAtMs, nextAtMs: forAtMs, goodUntilMs: forAtMs + warningGoodForMs },
      });
    }
  };
  for (const { clinicianId, email } of await listWarningReaders(db, clinicId)) {
    const contacts = { clinicId, owner: { clinicianId }, emails: [email], triesAll: true, nowMs };
    const contactIds = await ensureContacts(db, contacts, secrets);
    for (const afterMinutes of [0, ...telling.toldAgainAfterMinutes]) {
      add(contactIds, null, afterMinutes * minuteMs);
    }
  }
  if (!telling.tells.includes('agreed-caregivers')) return insertDeliveries(db, planned);
  for (const recipient of await recipientsOf(db, { clinicId, patient, nowMs }, secrets)) {
    const { caregiverId, toldOfWarnings, contactIds, warningContactIds } = recipient;
    if (toldOfWarnings) add([...contactIds, ...warningContactIds], caregiverId, 0);
  }
  await insertDeliveries(db, planned);
}

/**
 * Sends a note that may name a warning sign to the clinic's clinicians, immediately and again while it is unread.
 * Nobody else is notified: a note is not a report of a sign. Runs in the transaction that stores the note.
 */
export async function notifyOfNote(
  db: Db,
  {
    clinicId,
    patientId,
    checkInId,
    telling,
    nowMs,
  }: { clinicId: string; patientId: string; checkInId: string; telling: Telling; nowMs: number },
  secrets: ReminderSecrets,
): Promise<void> {
  const planned: NewDelivery[] = [];
  for (const { clinicianId, email } of await listWarningReaders(db, clinicId)) {
    const contacts = { clinicId, owner: { clinicianId }, emails: [email], triesAll: true, nowMs };
    for (const contactId of await ensureContacts(db, contacts, secrets)) {
      for (const afterMinutes of [0, ...telling.toldAgainAfterMinutes]) {
        const forAtMs = nowMs + afterMinutes * minuteMs;
        planned.push({
          key: `note ${checkInId} ${contactId}${afterMinutes === 0 ? '' : ` again ${afterMinutes}`}`,
          ...{ clinicId, patientId, kind: 'note', subject: checkInId, contactId, caregiverId: null },
          ...{ prescriptionId: null, slot: null, slotDueAtMs: nowMs },
          ...{ forAtMs, nextAtMs: forAtMs, goodUntilMs: forAtMs + warningGoodForMs },
        });
      }
    }
  }
  await insertDeliveries(db, planned);
}

/** Plans the weekly summaries that are due: Mondays at eight in the clinic's zone. Runs in a transaction. */
export async function planDigests(db: Db, nowMs: number, secrets: ReminderSecrets): Promise<void> {
  const planned: NewDelivery[] = [];
  for (const { clinicianId, clinicId, email, zone } of await listDigestReaders(db)) {
    const monday = mondayOf(isoDayIn(nowMs, zone));
    const dueAtMs = wallClockInstant(monday, digestTime, zone);
    // A member who turns it on on a Thursday gets the first one on the next Monday.
    if (nowMs < dueAtMs || nowMs >= dueAtMs + digestGoodForMs) continue;
    const contacts = { clinicId, owner: { clinicianId }, emails: [email], nowMs };
    for (const contactId of await ensureContacts(db, contacts, secrets)) {
      planned.push({
        key: `digest ${monday} ${contactId}`,
        ...{
          clinicId,
          patientId: null,
          kind: 'digest',
          subject: addDays(monday, -7),
          contactId,
          caregiverId: null,
        },
        ...{ prescriptionId: null, slot: null, slotDueAtMs: null },
        ...{ forAtMs: dueAtMs, nextAtMs: dueAtMs, goodUntilMs: dueAtMs + digestGoodForMs },
      });
    }
  }
  await insertDeliveries(db, planned);
}
