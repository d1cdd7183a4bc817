import { refreshAttention } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import { type Note, noteTextOf } from './history.js';

const lookedAtOnce = 200;

/** What a note names: ids of warning signs, and the word list that found them. */
export type NoteSigns = { signs: readonly string[]; wordsHash: string };

/** Records that an answer has a note to be read. The caller recomputes who needs attention. */
export async function saveNote(
  db: Db,
  { checkInId, patientId }: { checkInId: string; patientId: string },
  { signs, wordsHash }: NoteSigns,
): Promise<void> {
  await db
    .insertInto('note')
    .values({ checkInId, patientId, signs: JSON.stringify(signs), wordsHash })
    .execute();
}

/** Who has read the notes in a patient's answers, by the id of the answer. */
export async function notesReadOf(
  db: Db,
  patientId: string,
): Promise<Map<string, NonNullable<Note['read']>>> {
  const rows = await db
    .selectFrom('noteRead')
    .innerJoin('clinician', 'clinician.id', 'noteRead.clinicianId')
    .select(['noteRead.checkInId', 'noteRead.atMs', 'noteRead.found', 'clinician.name as clinicianName'])
    .where('noteRead.patientId', '=', patientId)
    .execute();
  return new Map(rows.map(({ checkInId, ...read }) => [checkInId, read]));
}

/**
 * Records who has read some notes of a patient. Runs in a transaction that has locked the patient; the caller
 * recomputes who needs attention.
 *
 * @param reading.unread the patient's unread notes, in that transaction
 * @returns the ids of those that were unread until now
 */
export async function markNotesRead(
  db: Db,
  patientId: string,
  {
    unread,
    checkInIds,
    found,
    clinicianId,
    nowMs,
  }: {
    unread: readonly Pick<Note, 'checkInId'>[];
    checkInIds: readonly string[];
    found: string;
    clinicianId: string;
    nowMs: number;
  },
): Promise<string[]> {
  const requested = unread.map(({ checkInId }) => checkInId).filter((id) => checkInIds.includes(id));
  for (const checkInId of requested) {
    await db
      .insertInto('noteRead')
      .values({ checkInId, patientId, clinicianId, found, atMs: nowMs })
      .execute();
  }
  return requested;
}

/** Whether a note has been read, or is gone with its record. */
export async function isNoteRead(db: Db, checkInId: string): Promise<boolean> {
  const unread = await db
    .selectFrom('note')
    .leftJoin('noteRead', 'noteRead.checkInId', 'note.checkInId')
    .select('note.checkInId')
    .where('note.checkInId', '=', checkInId)
    .where('noteRead.checkInId', 'is', null)
    .executeTakeFirst();
  return unread === undefined;
}

/** A batch of unread notes that were checked with a different word list than today's. */
export async function listNotesToRescan(
  db: Db,
  wordsHash: string,
): Promise<{ checkInId: string; patientId: string; text: string }[]> {
  const rows = await db
    .selectFrom('note')
    .innerJoin('checkIn', 'checkIn.id', 'note.checkInId')
    .leftJoin('noteRead', 'noteRead.checkInId', 'note.checkInId')
    .select(['note.checkInId', 'note.patientId', 'checkIn.answers'])
    .where('note.wordsHash', '!=', wordsHash)
    .where('noteRead.checkInId', 'is', null)
    .orderBy('note.checkInId')
    .limit(lookedAtOnce)
    .execute();
  return rows.map(({ answers, ...note }) => ({ ...note, text: noteTextOf(answers) }));
}

/** Records what a note names by today's list, and the attention it needs. */
export async function saveNoteSigns(
  db: Db,
  { checkInId, patientId }: { checkInId: string; patientId: string },
  { signs, wordsHash }: NoteSigns,
): Promise<void> {
  await db
    .updateTable('note')
    .set({ signs: JSON.stringify(signs), wordsHash })
    .where('checkInId', '=', checkInId)
    .execute();
  await refreshAttention(db, patientId);
}

/** How many notes of a clinic are unread, and how many of these may name a warning sign. */
export async function countUnreadNotes(
  db: Db,
  clinicId: string,
): Promise<{ unread: number; urgent: number }> {
  const rows = await db
    .selectFrom('note')
    .innerJoin('patient', 'patient.id', 'note.patientId')
    .leftJoin('noteRead', 'noteRead.checkInId', 'note.checkInId')
    .select(['note.signs', ({ fn }) => fn.countAll().as('count')])
    .where('patient.clinicId', '=', clinicId)
    .where('noteRead.checkInId', 'is', null)
    .groupBy('note.signs')
    .execute();
  const countOf = (some: typeof rows) => some.reduce((sum, { count }) => sum + Number(count), 0);
  return { unread: countOf(rows), urgent: countOf(rows.filter(({ signs }) => signs !== '[]')) };
}
