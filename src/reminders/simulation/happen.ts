import { type WarningSigns, warningUrgency } from '../../followup/warningSigns.js';
import { usualReminderRules } from '../../schedule/reminders.js';
import { isoDayIn } from '../../schedule/wallClock.js';
import { createFirstClinic, inviteFirstOwner } from '../../store/accounts/clinicians.js';
import { changeClinicContact } from '../../store/accounts/clinics.js';
import { scheduleAfterChange } from '../../store/attention/patientChanged.js';
import type { Db, Store } from '../../store/engine/openStore.js';
import { makeLink } from '../../store/listening/listeningLinks.js';
import {
  answerWarnings,
  saveNotToday,
  saveSteps,
  saveWarning,
} from '../../store/listening/listeningRecords.js';
import { addBreak } from '../../store/people/careBreaks.js';
import { addCaregiver, recordConsent } from '../../store/people/caregivers.js';
import { patientById } from '../../store/people/chart.js';
import { changePatient, createPatient } from '../../store/people/patients.js';
import { createPrescription } from '../../store/prescribing/prescriptions.js';
import { saveReminderRules } from '../../store/reminding/reminderRules.js';
import { addScreening } from '../../store/screening/screenings.js';
import { notifyOfWarning } from '../planOthers.js';
import type { ReminderSecrets } from '../secrets.js';
import type { Happening, Story } from './story.js';

/** The people of the story, by id. */
export type People = {
  clinicId: string;
  clinicianId: string;
  patientId: string;
  caregiverId: string;
  prescriptionId: string;
  linkId: string;
};

/** The clinic, its patient and caregiver, their consents, and the program. */
export function setUpClinic(store: Store, story: Story, nowMs: number): Promise<People> {
  const { clinic, clinician, patient, caregiver, rules, timesOfDay } = story;
  return store.write(async (db) => {
    await inviteFirstOwner(db, { tokenHash: 'story', nowMs, expiresAtMs: nowMs + 1 });
    const owner = { clinicName: clinic.name, zone: patient.zone, ...clinician, passwordHash: '' };
    const made = await createFirstClinic(db, { tokenHash: 'story', ...owner, nowMs });
    if (made === null) throw new RangeError('the story needs an empty database');
    const { clinicId, clinicianId } = made;
    const { phone, emergencyNumber } = clinic;
    await changeClinicContact(db, clinicId, { phone, emergencyNumber });
    const details = { sayAs: '', birthYear: null, language: 'en', phone: '', hearingNotes: '', goals: [] };
    const patientId = await createPatient(db, clinicId, { ...patient, ...details }, nowMs);
    const answered = { patientId, answers: '{}', stops: false, clinicianId, nowMs };
    const screeningId = await addScreening(db, answered);
    const caregiverId = await addCaregiver(
      db,
      patientId,
      { ...caregiver, phone: '' },
      { personId: null, nowMs },
    );
    const consent = { patientId, isGiven: true, onDate: story.from, note: '', clinicianId, nowMs };
    await recordConsent(db, { ...consent, kind: 'reminders', caregiverId: null });
    for (const kind of [
      'caregiver-reminded',
      'caregiver-told-not-begun',
      'caregiver-told-of-warnings',
    ] as const) {
      await recordConsent(db, { ...consent, kind, caregiverId });
    }
    await saveReminderRules(db, patientId, { ...usualReminderRules, ...rules });
    const content = {
      format: 'stillcount-prescription/1',
      timesADay: timesOfDay.length,
      timesOfDay,
      program: {},
    };
    const signing = { title: 'Home program', content: JSON.stringify(content), screeningId, reason: 'First' };
    const prescriptionId = await createPrescription(db, patientId, {
      ...signing,
      signedBy: clinicianId,
      nowMs,
    });
    const link = { clinicId, owner: { patientId }, tokenHash: 'link', codeHash: 'code', pinHash: null };
    const linkId = await makeLink(db, { ...link, clinicianId, nowMs, expiresAtMs: nowMs + 1e10 });
    return { clinicId, clinicianId, patientId, caregiverId, prescriptionId, linkId };
  });
}

type At = { nowMs: number; id: string; secrets: ReminderSecrets; warningSigns: WarningSigns };

/** Makes an event happen as the pages would record it. */
export function applyEvent(store: Store, people: People, what: Happening, at: At): Promise<void> {
  return store.write(async (db) => {
    const patient = await patientById(db, people.clinicId, people.patientId);
    if (patient === null) throw new RangeError('the patient of the story is gone');
    const { clinicId, clinicianId, patientId } = people;
    const { nowMs, id, secrets } = at;
    const today = isoDayIn(nowMs, patient.zone);
    const about = (session: number) => ({
      ...{ id, patientId, prescriptionId: people.prescriptionId, versionNumber: 1, sessionNumber: 1 },
      ...{
        slot: `${today}#${session}`,
        linkId: people.linkId,
        caregiverId: null,
        atMs: nowMs,
        receivedAtMs: nowMs,
      },
    });
    switch (what.do) {
      case 'begin':
        await saveSteps(db, [{ ...about(what.session), listeningId: id, step: 'started', positionMs: 0 }]);
        return;
      case 'put-off':
        await saveNotToday(db, { ...about(what.session), reason: 'no-time' });
        return;
      case 'warn': {
        await saveWarning(db, { ...about(what.session), listeningId: null, positionMs: null, signs: '[]' });
        await scheduleAfterChange(db, patientId);
        const telling = at.warningSigns.telling[warningUrgency(at.warningSigns, [])];
        await notifyOfWarning(db, { clinicId, patient, warningId: id, telling, nowMs }, secrets);
        return;
      }
      case 'answer':
        await answerWarnings(db, patientId, { seenUpToMs: nowMs, clinicianId, note: 'Called', nowMs });
        await scheduleAfterChange(db, patientId);
        return;
      case 'break': {
        const days = { kind: 'holiday', fromDay: today, untilDay: what.until, note: '' } as const;
        await addBreak(db, patientId, { ...days, clinicianId, nowMs });
        return;
      }
      case 'move': {
        const { id: _id, revision, ...details } = patient;
        await changePatient(db, clinicId, {
          id: patientId,
          revision,
          details: { ...details, zone: what.zone },
          nowMs,
        });
        return;
      }
      case 'take-back':
        return takeBack(db, people, { nowMs, today });
      default:
        return;
    }
  });
}

function takeBack(
  db: Db,
  { patientId, clinicianId }: People,
  { nowMs, today }: { nowMs: number; today: string },
): Promise<void> {
  const consent = { patientId, caregiverId: null, kind: 'reminders', isGiven: false, onDate: today } as const;
  return recordConsent(db, { ...consent, note: '', clinicianId, nowMs });
}
