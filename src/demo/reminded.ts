import type { Resources } from '../clinic/resources/resources.js';
import { timetableOf } from '../prescription/content.js';
import { usualReminderRules } from '../schedule/reminders.js';
import { type Slot, slotsOf } from '../schedule/slots.js';
import { addDays, isoDayIn } from '../schedule/wallClock.js';
import { breaksOf, type Patient, type Prescription, patientById, versionsOf } from '../store/people/chart.js';
import { addContact } from '../store/people/contacts.js';
import {
  claimDeliveries,
  insertDeliveries,
  type Settled,
  settleDeliveries,
} from '../store/reminding/deliveries.js';
import { minuteMs } from '../time/units.js';
import type { Reminded } from './story.js';

const shownDays = 14;
const owner = 'demo';

/** Records the reminders emailed to a person in the last two weeks, as sending would have recorded them. */
export async function seedReminders(
  service: Pick<Resources, 'store' | 'reminderSecrets' | 'now'>,
  { clinicId, prescription, reminded }: { clinicId: string; prescription: Prescription; reminded: Reminded },
): Promise<void> {
  const { store, reminderSecrets } = service;
  const nowMs = service.now();
  const { patientId } = prescription;
  const patient = await store.read((db) => patientById(db, clinicId, patientId));
  if (patient === null || patient.email === '') return;
  const slots = await pastSlots(service, { prescription, patient, nowMs });
  await store.write(async (db) => {
    const contactId = await addContact(db, {
      clinicId,
      owner: { patientId },
      channel: 'mail',
      address: JSON.stringify(patient.email),
      unsubscribeHashOf: reminderSecrets.unsubscribeHashOf,
      nowMs: nowMs - shownDays * 24 * 60 * minuteMs,
    });
    await insertDeliveries(
      db,
      slots.map(({ slot, dueAtMs }) => ({
        key: `due ${prescription.id} ${slot} ${contactId}`,
        ...{ clinicId, patientId, kind: 'due', prescriptionId: prescription.id, slot, subject: null },
        ...{ slotDueAtMs: dueAtMs, contactId, caregiverId: null, forAtMs: dueAtMs, nextAtMs: dueAtMs },
        goodUntilMs: dueAtMs + usualReminderRules.graceMinutes * minuteMs,
      })),
    );
    const claiming = { owner, nowMs, leaseMs: minuteMs, most: slots.length, isShared: false };
    for (const claimed of await claimDeliveries(db, { ...claiming, onlyWarnings: false })) {
      const daysAgo = Math.floor((nowMs - claimed.forAtMs) / (24 * 60 * minuteMs));
      const settled: Settled = {
        ...{ id: claimed.id, patientId, nextAtMs: null, isUntried: false },
        ...{ state: 'sent', why: null, isLate: false },
        ...reminded.troubles[daysAgo],
      };
      await settleDeliveries(db, owner, [settled], claimed.forAtMs + minuteMs / 4);
    }
  });
}

/** Returns the sessions of the last two weeks by the newest version's timetable, without today's. */
async function pastSlots(
  { store }: Pick<Resources, 'store'>,
  { prescription, patient, nowMs }: { prescription: Prescription; patient: Patient; nowMs: number },
): Promise<Slot[]> {
  const [newest] = await store.read((db) => versionsOf(db, prescription.id));
  if (newest === undefined) return [];
  const breaks = await store.read((db) => breaksOf(db, patient.id));
  const rhythm = { ...timetableOf(newest.content), zone: patient.zone, breaks };
  const today = isoDayIn(nowMs, patient.zone);
  const days = Array.from({ length: shownDays }, (_, index) => addDays(today, index - shownDays));
  return days.flatMap((day) => slotsOf(rhythm, day));
}
