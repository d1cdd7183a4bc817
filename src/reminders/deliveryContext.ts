import { type Timetable, timetableOf } from '../prescription/content.js';
import { isFreeDay, restMs } from '../schedule/plannedStates.js';
import { isFor } from '../schedule/recipients.js';
import {
  type Reminder,
  type ReminderKind,
  type ReminderRules,
  remindersOf,
  usualReminderRules,
} from '../schedule/reminders.js';
import type { DeliveryContext, OwnReminder } from '../schedule/sending.js';
import { dayOfSlot, isInBreak, type Rhythm, rhythmOf, slotsOf } from '../schedule/slots.js';
import type { Claimed } from '../store/reminding/deliveries.js';
import { consentKey, type SendingFacts } from '../store/reminding/sendingFacts.js';

/** A claimed reminder: about one slot of one program. */
export type ClaimedReminder = Claimed & {
  kind: ReminderKind;
  patientId: string;
  prescriptionId: string;
  slot: string;
};

/**
 * The current facts about claimed reminders. Shared by a batch: many concern the same minute and the same times of day,
 * which are computed once.
 */
export class Moments {
  readonly #facts: SendingFacts;
  readonly #nowMs: number;
  readonly #timetables = new Map<string, Timetable>();
  readonly #reminders = new Map<string, Reminder | null>();

  constructor(facts: SendingFacts, nowMs: number) {
    this.#facts = facts;
    this.#nowMs = nowMs;
  }

  of(claimed: ClaimedReminder): DeliveryContext {
    const { patientId, prescriptionId, slot } = claimed;
    const facts = this.#facts;
    const rules = facts.rules.get(patientId) ?? usualReminderRules;
    const zone = facts.patients.get(patientId)?.zone ?? 'UTC';
    const rhythm = this.#rhythmOf(claimed, zone);
    const day = dayOfSlot(slot);
    const heard = facts.heard.get(prescriptionId) ?? new Map();
    return {
      ...{ nowMs: this.#nowMs, rules, zone, keptForAtMs: claimed.forAtMs },
      hasClinicNumber: /\d/.test(facts.patients.get(patientId)?.phone ?? ''),
      planned: rhythm === null ? null : this.#plannedNow(claimed, rhythm, rules),
      whyNoSlot: facts.notPlayed.has(prescriptionId) ? 'not-playable' : whyNoSlot(rhythm, day),
      hasConsent: hasConsent(claimed, facts),
      hasAddress: facts.contacts.get(claimed.contactId)?.isOpen === true,
      isHeldByWarning: facts.heldPatients.has(patientId),
      hasBegun: heard.has(slot),
      isPutOff: facts.putOff.has(`${prescriptionId} ${slot}`) || facts.unwellDays.has(`${patientId} ${day}`),
      restedAtMs: restedAt(facts.lastDoneAtMs.get(prescriptionId)),
      ownReminder: ownReminderOf(facts.ownReminders.get(`${prescriptionId} ${slot}`)),
      caregiverAfterMinutes: rules.caregiverAfterMinutes,
      isWeekDone: rhythm !== null && isFreeDay(rhythm, heard, day),
    };
  }

  #rhythmOf({ patientId, prescriptionId }: ClaimedReminder, zone: string): Rhythm | null {
    const { programs, breaks, notPlayed } = this.#facts;
    const program = programs.get(prescriptionId);
    // No one is called to a session that cannot be played.
    if (program?.state !== 'active' || notPlayed.has(prescriptionId)) return null;
    const timetables = program.versions.map(({ content, signedAtMs }) => ({
      signedAtMs,
      timetable: this.#timetableOf(content),
    }));
    return rhythmOf(timetables, { zone, breaks: breaks.get(patientId) ?? [] });
  }

  #timetableOf(content: string | null): Timetable {
    if (content === null) return timetableOf(content);
    const timetable = this.#timetables.get(content) ?? timetableOf(content);
    this.#timetables.set(content, timetable);
    return timetable;
  }

  #plannedNow({ kind, slot }: ClaimedReminder, rhythm: Rhythm, rules: ReminderRules): Reminder | null {
    const key = JSON.stringify([kind, slot, rhythm, rules]);
    const known = this.#reminders.get(key);
    if (known !== undefined) return known;
    const due = slotsOf(rhythm, dayOfSlot(slot)).filter((each) => each.slot === slot);
    const planned = remindersOf(due, rules, rhythm.zone).find((each) => each.kind === kind) ?? null;
    this.#reminders.set(key, planned);
    return planned;
  }
}

function restedAt(lastDoneAtMs: number | undefined): number {
  return lastDoneAtMs === undefined || lastDoneAtMs === 0 ? 0 : lastDoneAtMs + restMs;
}

function ownReminderOf(own: { isOpen: boolean; sentAtMs: number | null } | undefined): OwnReminder | null {
  if (own === undefined) return null;
  if (own.sentAtMs !== null) return { state: 'sent', atMs: own.sentAtMs };
  return { state: own.isOpen ? 'open' : 'unsent' };
}

function whyNoSlot(rhythm: Rhythm | null, day: string): DeliveryContext['whyNoSlot'] {
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
      toldNotBegun: consents.has(consentKey(patientId, 'caregiver-told-not-begun', caregiverId)),
    })
  );
}
