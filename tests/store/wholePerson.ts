import { randomUUID } from 'node:crypto';
import { usualReminderRules } from '../../src/schedule/reminders.js';
import { addAuditEntry } from '../../src/store/accounts/audit.js';
import type { Db } from '../../src/store/engine/openStore.js';
import { markNotesRead, saveNote } from '../../src/store/followup/notes.js';
import { makeLink } from '../../src/store/listening/listeningLinks.js';
import {
  answerWarnings,
  saveCheckIn,
  saveFeedDelivery,
  saveNotToday,
  saveWarning,
} from '../../src/store/listening/listeningRecords.js';
import { addBreak } from '../../src/store/people/careBreaks.js';
import { addCaregiver, recordConsent } from '../../src/store/people/caregivers.js';
import { addContact } from '../../src/store/people/contacts.js';
import { createPatient } from '../../src/store/people/patients.js';
import { saveUnplayable } from '../../src/store/prescribing/notPlayed.js';
import { changeState, createPrescription, writeDraft } from '../../src/store/prescribing/prescriptions.js';
import { insertDeliveries } from '../../src/store/reminding/deliveries.js';
import { saveReminderRules } from '../../src/store/reminding/reminderRules.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { addFollowUpRows } from './followUpRows.js';

export const nowMs = Date.UTC(2026, 10, 25, 9);

export type Clinic = { clinicId: string; clinicianId: string };
/** A mark that stands in every text of one person's record, so that a scan finds whatever is left of it. */
export type Person = { mark: string; patientId: string; personId: string; sharedId: string };

/**
 * Somebody with at least one row in every table.
 *
 * @param sharedWith the caregiver of another patient, who is made theirs too; null for none
 */
export async function makePerson(
  db: Db,
  clinic: Clinic,
  mark: string,
  sharedWith: string | null,
): Promise<Person> {
  const { clinicId, clinicianId } = clinic;
  const details = { name: `${mark} name`, spokenName: mark, sayAs: mark, birthYear: 1944, language: 'en' };
  const contact = { phone: `${mark} 1`, email: `${mark}@example.org`, hearingNotes: mark, goals: [mark] };
  const patientId = await createPatient(db, clinicId, { ...details, zone: 'UTC', ...contact }, nowMs);
  await addScreening(db, { patientId, answers: `{"a":"${mark}"}`, stops: false, clinicianId, nowMs });
  const caregiver = { name: `${mark} son`, relation: mark, phone: mark, email: `${mark}son@example.org` };
  const caregiverId = await addCaregiver(db, patientId, caregiver, { personId: null, nowMs });
  const sharedId = await addCaregiver(db, patientId, caregiver, { personId: sharedWith, nowMs });
  const said = { kind: 'caregiver-reminded', isGiven: true, onDate: '2026-11-25', note: mark } as const;
  await recordConsent(db, { ...said, patientId, caregiverId, clinicianId, nowMs });
  const signing = { title: mark, content: `{"p":"${mark}"}`, screeningId: null, reason: mark };
  const prescriptionId = await createPrescription(db, patientId, {
    ...signing,
    signedBy: clinicianId,
    nowMs,
  });
  await changeState(db, { prescriptionId, state: 'paused', clinicianId, reason: mark, nowMs });
  await writeDraft(
    db,
    { clinicianId, patientId, prescriptionId: null },
    { content: mark, basedOnNumber: 0, updatedAtMs: nowMs },
  );
  await saveUnplayable(db, patientId, { prescriptionIds: [prescriptionId], nowMs });
  await makeListening(db, clinic, mark, { patientId, prescriptionId, caregiverId });
  await makeReminders(db, clinic, mark, { patientId, caregiverId });
  await makeFollowUp(db, clinic, mark, { patientId, prescriptionId, caregiverId });
  await addAuditEntry(db, { ...clinic, patientId, action: 'patient-read', subject: patientId, atMs: nowMs });
  return { mark, patientId, personId: caregiverId, sharedId };
}

async function makeListening(
  db: Db,
  { clinicId, clinicianId }: Clinic,
  mark: string,
  {
    patientId,
    prescriptionId,
    caregiverId,
  }: { patientId: string; prescriptionId: string; caregiverId: string },
): Promise<void> {
  const given = { clinicId, pinHash: null, clinicianId, nowMs, expiresAtMs: nowMs + 1_000 };
  const own = { owner: { patientId }, tokenHash: `${mark} token`, codeHash: `${mark} code` };
  const linkId = await makeLink(db, { ...given, ...own });
  const sons = { owner: { caregiverPersonId: caregiverId }, tokenHash: `${mark} t2`, codeHash: `${mark} c2` };
  await makeLink(db, { ...given, ...sons });
  const place = { patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: '2026-11-25#1' };
  const told = { ...place, linkId, caregiverId, atMs: nowMs, receivedAtMs: nowMs };
  const listeningId = randomUUID();
  await db
    .insertInto('listeningStep')
    .values({ ...told, id: randomUUID(), listeningId, step: 'started', positionMs: 0 })
    .execute();
  await saveNotToday(db, { ...told, id: randomUUID(), reason: 'away' });
  await saveFeedDelivery(db, { ...told, id: randomUUID() });
  const checkInId = randomUUID();
  await saveCheckIn(db, { ...told, id: checkInId, listeningId, answers: `{"note":"${mark}"}` });
  await saveNote(db, { checkInId, patientId }, { signs: [mark], wordsHash: mark });
  await markNotesRead(db, patientId, {
    unread: [{ checkInId }],
    checkInIds: [checkInId],
    found: mark,
    clinicianId,
    nowMs,
  });
  await saveWarning(db, { ...told, id: randomUUID(), listeningId, positionMs: null, signs: '[]' });
  await answerWarnings(db, patientId, { seenUpToMs: nowMs, clinicianId, note: mark, nowMs });
}

async function makeReminders(
  db: Db,
  { clinicId, clinicianId }: Clinic,
  mark: string,
  { patientId, caregiverId }: { patientId: string; caregiverId: string },
): Promise<void> {
  await saveReminderRules(db, patientId, usualReminderRules);
  const away = { kind: 'holiday', fromDay: '2026-12-01', untilDay: null, note: mark } as const;
  await addBreak(db, patientId, { ...away, clinicianId, nowMs });
  for (const owner of [{ patientId }, { caregiverPersonId: caregiverId }]) {
    const address = JSON.stringify(`${mark}${Object.keys(owner).join()}@example.org`);
    const unsubscribeHashOf = (id: string) => id;
    const mail = { channel: 'mail', address, unsubscribeHashOf } as const;
    const contactId = await addContact(db, { clinicId, owner, ...mail, nowMs });
    const about = {
      key: `${mark} ${contactId}`,
      clinicId,
      patientId,
      kind: 'warning',
      subject: mark,
    } as const;
    const slot = { prescriptionId: null, slot: null, slotDueAtMs: null, caregiverId };
    const times = { forAtMs: nowMs, nextAtMs: nowMs, goodUntilMs: nowMs + 1 };
    await insertDeliveries(db, [{ ...about, ...slot, ...times, contactId }]);
  }
}

async function makeFollowUp(
  db: Db,
  { clinicId, clinicianId }: Clinic,
  mark: string,
  {
    patientId,
    prescriptionId,
    caregiverId,
  }: { patientId: string; prescriptionId: string; caregiverId: string },
): Promise<void> {
  const times = { startedAtMs: nowMs, lastAtMs: nowMs, finishedAtMs: null, stoppedAtMs: null, pausedMs: 0 };
  const place = { patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: '2026-11-25#1' };
  const heard = { heardMs: 0, reachedMs: 0, pauseCount: 0, caregiverId };
  await db
    .insertInto('listened')
    .values({ listeningId: randomUUID(), ...place, ...heard, ...times })
    .execute();
  await addFollowUpRows(db, {
    clinicId,
    clinicianId,
    patientId,
    prescriptionId,
    measureOf: patientId,
    text: mark,
    nowMs,
  });
}
