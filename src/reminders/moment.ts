import { timetableSchema } from '../prescription/content.js';
import { isFreeDay } from '../schedule/plannedStates.js';
import { isFor } from '../schedule/recipients.js';
import { type ReminderKind, remindersOf, usualReminderRules } from '../schedule/reminders.js';
import type { Moment } from '../schedule/sending.js';
import { dayOfSlot, isInBreak, type Rhythm, slotsOf } from '../schedule/slots.js';
import type { Claimed } from '../store/deliveries.js';
import { consentKey, type SendingFacts } from '../store/sendingFacts.js';

/** A reminder that was claimed: about one slot of one program. */
export type ClaimedReminder = Claimed & {
  kind: ReminderKind;
  patientId: string;
  prescriptionId: string;
  slot: string;
};

/** What is true of a claimed reminder now. */
export function momentOf(claimed: ClaimedReminder, facts: SendingFacts, nowMs: number): Moment {
  const { patientId, prescriptionId, slot } = claimed;
  const rules = facts.rules.get(patientId) ?? usualReminderRules;
  const zone = facts.patients.get(patientId)?.zone ?? 'UTC';
  const rhythm = rhythmOf(claimed, facts, zone);
  const day = dayOfSlot(slot);
  const due = rhythm === null ? [] : slotsOf(rhythm, day).filter((each) => each.slot === slot);
  const heard = facts.heard.get(prescriptionId) ?? new Map();
  return {
    ...{ nowMs, rules, zone },
    planned: remindersOf(due, rules, zone).find(({ kind }) => kind === claimed.kind) ?? null,
    whyNoSlot: whyNoSlot(rhythm, day),
    hasConsent: hasConsent(claimed, facts),
    hasAddress: facts.contacts.get(claimed.contactId)?.isOpen === true,
    isHeldByWarning: facts.heldPatients.has(patientId),
    hasBegun: heard.has(slot),
    isPutOff: facts.putOff.has(`${prescriptionId} ${slot}`),
    isWeekDone: rhythm !== null && isFreeDay(rhythm, heard, day),
  };
}

function rhythmOf(
  { patientId, prescriptionId }: ClaimedReminder,
  { programs, breaks }: SendingFacts,
  zone: string,
): Rhythm | null {
  const program = programs.get(prescriptionId);
  if (program?.state !== 'active') return null;
  const timetable = timetableSchema.parse(JSON.parse(program.content));
  return { ...timetable, zone, breaks: breaks.get(patientId) ?? [] };
}

function whyNoSlot(rhythm: Rhythm | null, day: string): Moment['whyNoSlot'] {
  if (rhythm === null) return 'not-prescribed';
  return isInBreak(rhythm.breaks, day) ? 'in-a-break' : 'changed';
}

function hasConsent(
  { kind, patientId, caregiverId }: ClaimedReminder,
  { consents, caregivers }: SendingFacts,
): boolean {
  if (caregiverId === null) {
    return isFor(kind, {
      isPatient: true,
      isReminded: consents.has(consentKey(patientId, 'reminders', null)),
    });
  }
  return (
    caregivers.has(caregiverId) &&
    isFor(kind, {
      isPatient: false,
      isReminded: consents.has(consentKey(patientId, 'caregiver-reminded', caregiverId)),
      seesDone: consents.has(consentKey(patientId, 'caregiver-sees-done', caregiverId)),
    })
  );
}
