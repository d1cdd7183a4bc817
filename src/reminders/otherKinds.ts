import type { Store } from '../store/engine/openStore.js';
import { isNoteRead } from '../store/followup/notes.js';
import { isWarningAnswered } from '../store/listening/listeningRecords.js';
import type { Claimed } from '../store/reminding/deliveries.js';
import { consentKey, type SendingFacts } from '../store/reminding/sendingFacts.js';
import { readWeek, wantsDigest } from '../store/reminding/weeks.js';
import { type AttentionKind, attentionKinds } from '../store/schema/peopleSchema.js';
import { dayMs } from '../time/units.js';
import type { Choice } from './choice.js';

const lateAfterMs = 15 * 60_000;
const weekMs = 7 * dayMs;

/**
 * Whether a warning sign is sent now: at any hour, as long as it is unanswered. Failing to send it in time is a failure
 * that the clinic sees.
 */
export async function decideWarning(
  store: Store,
  { subject, contactId, patientId, caregiverId, goodUntilMs, forAtMs, slotDueAtMs, attempts }: Claimed,
  { contacts, consents, caregivers, patients }: SendingFacts,
  nowMs: number,
): Promise<Choice> {
  // The record was erased in the meantime.
  if (!patients.has(patientId ?? '')) return { do: 'drop', why: 'changed' };
  if (await store.read((db) => isWarningAnswered(db, subject ?? ''))) return { do: 'drop', why: 'answered' };
  if (contacts.get(contactId)?.takesWarnings !== true) return { do: 'fail', why: 'no-address' };
  // Rule WARN-6: a caregiver is notified only if the patient has agreed, and has not withdrawn consent.
  const mayKnow =
    caregiverId === null ||
    (caregivers.has(caregiverId) &&
      consents.has(consentKey(patientId ?? '', 'caregiver-told-of-warnings', caregiverId)));
  if (!mayKnow) return { do: 'drop', why: 'no-consent' };
  const isAgain = isRepeat({ forAtMs, slotDueAtMs });
  // The machine may have slept for days: what was never tried is sent, however late.
  if (nowMs >= goodUntilMs && (isAgain || attempts > 1)) return { do: 'fail', why: 'too-late' };
  return { do: 'send', isLate: !isAgain && nowMs - forAtMs > lateAfterMs, view: { isAgain } };
}

/** Whether clinicians are notified now that a note may name a warning sign: at any hour, as long as it is unread. */
export async function decideNote(
  store: Store,
  { subject, contactId, patientId, goodUntilMs, forAtMs, slotDueAtMs, attempts }: Claimed,
  { contacts, patients }: SendingFacts,
  nowMs: number,
): Promise<Choice> {
  // The record was erased in the meantime.
  if (!patients.has(patientId ?? '')) return { do: 'drop', why: 'changed' };
  if (await store.read((db) => isNoteRead(db, subject ?? ''))) return { do: 'drop', why: 'answered' };
  if (contacts.get(contactId)?.takesWarnings !== true) return { do: 'fail', why: 'no-address' };
  const isAgain = isRepeat({ forAtMs, slotDueAtMs });
  if (nowMs >= goodUntilMs && (isAgain || attempts > 1)) return { do: 'fail', why: 'too-late' };
  return { do: 'send', isLate: !isAgain && nowMs - forAtMs > lateAfterMs, view: { isAgain } };
}

/** Whether it is sent once more, because it is unanswered. */
export function isRepeat({ forAtMs, slotDueAtMs }: Pick<Claimed, 'forAtMs' | 'slotDueAtMs'>): boolean {
  return slotDueAtMs !== null && forAtMs > slotDueAtMs;
}

const ownKinds: readonly AttentionKind[] = [
  ...(['warning-sign', 'urgent-note', 'unread-note', 'gone-quiet'] as const),
  ...(['advice-waits', 'to-review', 'not-delivered'] as const),
];
const otherKinds = attentionKinds.filter((kind) => !ownKinds.includes(kind));

/** Whether a clinician gets the weekly summary now, and its content. */
export async function decideDigest(
  store: Store,
  { clinicId, contactId, goodUntilMs }: Claimed,
  { contacts }: SendingFacts,
  nowMs: number,
): Promise<Choice> {
  const contact = contacts.get(contactId);
  if (contact?.isOpen !== true || contact.clinicianId === null) return { do: 'drop', why: 'no-address' };
  const { clinicianId } = contact;
  if (!(await store.read((db) => wantsDigest(db, clinicianId)))) return { do: 'drop', why: 'no-consent' };
  if (nowMs >= goodUntilMs) return { do: 'miss', why: 'too-late' };
  const { clinicName, listened, finished, waiting, notes } = await store.read((db) =>
    readWeek(db, clinicId, nowMs - weekMs),
  );
  const counts = {
    warnings: waiting['warning-sign'],
    notes: notes.unread,
    urgentNotes: notes.urgent,
    quiet: waiting['gone-quiet'],
    advice: waiting['advice-waits'],
    review: waiting['to-review'],
    failed: waiting['not-delivered'],
    others: otherKinds.reduce((sum, kind) => sum + (waiting[kind] ?? 0), 0),
  };
  // Mustache treats the text "0" as true.
  const some = Object.entries(counts).flatMap(([name, count]) => (count ? [[name, String(count)]] : []));
  const view = { clinicName, listened: String(listened), finished: String(finished) };
  return {
    do: 'send',
    isLate: false,
    view: { ...view, ...Object.fromEntries(some), nothing: some.length === 0 },
  };
}
