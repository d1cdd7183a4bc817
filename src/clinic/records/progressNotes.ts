import { createHash } from 'node:crypto';
import { z } from 'zod';
import { dayOfMoment } from '../../documents/dayInWords.js';
import type { PaperTexts } from '../../documents/filled.js';
import type { Days } from '../../documents/noteProgram.js';
import { progressNote, signedNote } from '../../documents/progressNote.js';
import { addDays, isoDayIn } from '../../schedule/wallClock.js';
import { lockPatient } from '../../store/attention/lockPatient.js';
import type { Patient } from '../../store/people/patients.js';
import { notesOf, saveProgressNote } from '../../store/records/progressNotes.js';
import { type Actor, auditActor, requireMayWrite } from '../actor.js';
import { findOwnPatient } from '../people/openRecord.js';
import { refused } from '../refusals.js';
import type { NoteResources } from './noteData.js';
import { noteData } from './noteData.js';

const mostDays = 731;
const mostLetters = 10_000;

export const noteSchema = z.strictObject({
  /** Made up by the page, so that sending it twice keeps one note. */
  noteId: z.uuid(),
  fromDay: z.iso.date({ error: 'a day such as 2026-11-25' }),
  untilDay: z.iso.date({ error: 'a day such as 2026-11-25' }),
  /** Which draft she has read. */
  seen: z.string().max(100),
  words: z
    .string()
    .max(mostLetters, { error: `at most ${mostLetters} characters`, abort: true })
    .regex(/^(?:[^\p{Cc}\p{Cs}]|[\n\r\t])*$/u, { error: 'plain text' }),
});

/** The draft of a note on some days, and what names exactly this one. */
export type NoteDraft = { text: string; key: string };

/** @throws Refused for days that are not in order, or yet to come */
export async function draftNote(
  service: NoteResources,
  actor: Actor,
  { patient, days, texts }: { patient: Patient; days: Days; texts: PaperTexts },
): Promise<NoteDraft> {
  requireDays(days, isoDayIn(actor.nowMs, patient.zone));
  const text = progressNote(texts, await noteData(service, actor, patient, days));
  return { text, key: createHash('sha256').update(text).digest('hex') };
}

/**
 * Signs a note: the draft as it was read, with the clinician's words. It is kept and never changed.
 *
 * @throws Refused for somebody who may only read; also as for {@link draftNote}, and when the
 *   record has changed since the draft was read
 */
export async function signNote(
  service: NoteResources,
  actor: Actor,
  { patient, texts, typed }: { patient: Patient; texts: PaperTexts; typed: z.output<typeof noteSchema> },
): Promise<void> {
  requireMayWrite(actor);
  const { noteId, words, fromDay, untilDay } = typed;
  const draft = await draftNote(service, actor, { patient, days: { fromDay, untilDay }, texts });
  if (draft.key !== typed.seen) {
    throw refused('note-changed');
  }
  const { id: clinicianId, name } = actor.clinician;
  const when = dayOfMoment(actor.nowMs, actor.clinician.clinicZone);
  const text = signedNote(texts, draft.text, { words, by: name, when });
  await service.store.write(async (db) => {
    await findOwnPatient(db, actor, patient.id);
    await lockPatient(db, patient.id);
    const kept = {
      id: noteId,
      patientId: patient.id,
      fromDay,
      untilDay,
      text,
      clinicianId,
      atMs: actor.nowMs,
    };
    if (await saveProgressNote(db, kept)) {
      await auditActor(db, actor, { patientId: patient.id, subject: noteId, action: 'note-signed' });
      return;
    }
    // Sent twice it is the same note; with other words it must not be lost as if it had been signed.
    const earlier = (await notesOf(db, patient.id)).find(({ id }) => id === noteId);
    if (earlier?.text !== text) {
      throw refused('note-signed-otherwise');
    }
  });
}

function requireDays({ fromDay, untilDay }: Days, today: string): void {
  if (untilDay > today) throw refused('day-ahead', { field: 'untilDay' });
  if (fromDay > untilDay) throw refused('note-out-of-order', { field: 'fromDay' });
  if (fromDay < addDays(untilDay, -mostDays)) {
    throw refused('note-too-long', { field: 'fromDay' });
  }
}
