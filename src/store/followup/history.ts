import { randomUUID } from 'node:crypto';
import type { Selectable } from 'kysely';
import { z } from 'zod';
import type { Listened } from '../../listening/listened.js';
import { checkInAnswersSchema, type NotTodayReason } from '../../listening/report.js';
import { scheduleAdvice } from '../attention/patientChanged.js';
import type { Db } from '../engine/openStore.js';
import type { CheckInRow } from '../listening/listeningRecords.js';
import type { FollowUpTables } from '../schema/followUpSchema.js';
import type { ListeningTables } from '../schema/listeningSchema.js';

/** All playbacks of a patient since a given time, in the order they started. */
export async function listenedOf(db: Db, patientId: string, sinceMs = 0): Promise<Listened[]> {
  const rows = await db
    .selectFrom('listened')
    .selectAll()
    .where('patientId', '=', patientId)
    .where('startedAtMs', '>=', sinceMs)
    .orderBy('startedAtMs')
    .orderBy('listeningId')
    .execute();
  return rows.map(({ patientId: _patientId, ...listened }) => listened);
}

/** A year of them is read at once: only the needed columns. */
export type ReportedCheckIn = Pick<CheckInRow, (typeof checkInColumns)[number]>;

const checkInColumns = [
  'id',
  'prescriptionId',
  'versionNumber',
  'slot',
  'caregiverId',
  'atMs',
  'answers',
] as const satisfies (keyof CheckInRow)[];

/** Everything a patient reported about sessions, except for playback. */
export type Reported = {
  checkIns: ReportedCheckIn[];
  putOff: { id: string; prescriptionId: string; slot: string; reason: NotTodayReason; atMs: number }[];
  /** Downloaded by another player. */
  fetched: { prescriptionId: string; slot: string }[];
};

/** Oldest first. */
export async function reportedOf(db: Db, patientId: string): Promise<Reported> {
  const checkIns = await db
    .selectFrom('checkIn')
    .select(checkInColumns)
    .where('patientId', '=', patientId)
    .orderBy('atMs')
    .orderBy('id')
    .execute();
  const putOff = await db
    .selectFrom('notToday')
    .select(['id', 'prescriptionId', 'slot', 'reason', 'atMs'])
    .where('patientId', '=', patientId)
    .orderBy('atMs')
    .orderBy('id')
    .execute();
  const fetched = await db
    .selectFrom('feedDelivery')
    .select(['prescriptionId', 'slot'])
    .distinct()
    .where('patientId', '=', patientId)
    .execute();
  return { checkIns, putOff, fetched };
}

/** A warning with its answer, null while it is unanswered. */
export type Warning = Selectable<ListeningTables['warning']> & {
  answer: { note: string; atMs: number; clinicianName: string } | null;
};

/** Rule WARN-8: warnings, unanswered ones first, of these the ones that name a sign, then the newest. */
export async function warningsOf(db: Db, patientId: string, most: number): Promise<Warning[]> {
  const rows = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .leftJoin('clinician', 'clinician.id', 'warningAnswer.clinicianId')
    .selectAll('warning')
    .select(['warningAnswer.note', 'warningAnswer.atMs as answeredAtMs', 'clinician.name as clinicianName'])
    .where('warning.patientId', '=', patientId)
    .orderBy(({ eb }) => eb.case().when('warningAnswer.atMs', 'is', null).then(0).else(1).end())
    .orderBy(({ eb }) =>
      eb
        .case()
        .when('warningAnswer.atMs', 'is', null)
        .then(eb.case().when('warning.signs', '!=', '[]').then(0).else(1).end())
        .else(0)
        .end(),
    )
    .orderBy('warning.atMs', 'desc')
    .orderBy('warning.id')
    .limit(most)
    .execute();
  return rows.map(({ note, answeredAtMs, clinicianName, ...warning }) => ({
    ...warning,
    answer:
      answeredAtMs === null
        ? null
        : { note: note ?? '', atMs: answeredAtMs, clinicianName: clinicianName ?? '' },
  }));
}

const signsSchema = z.array(z.string());

/** A note with its reader, null while it is unread. */
export type Note = Pick<CheckInRow, 'caregiverId' | 'atMs' | 'receivedAtMs'> & {
  checkInId: string;
  text: string;
  /** The warning signs it may name. */
  signs: readonly string[];
  /** `found` is what the reader found out about a sign that it may name. */
  read: { atMs: number; clinicianName: string; found: string } | null;
};

/** A patient's unread notes, oldest first. */
export async function unreadNotesOf(db: Db, patientId: string): Promise<Note[]> {
  const rows = await db
    .selectFrom('note')
    .innerJoin('checkIn', 'checkIn.id', 'note.checkInId')
    .leftJoin('noteRead', 'noteRead.checkInId', 'note.checkInId')
    .select(['note.checkInId', 'checkIn.caregiverId', 'checkIn.atMs', 'checkIn.receivedAtMs'])
    .select(['checkIn.answers', 'note.signs'])
    .where('note.patientId', '=', patientId)
    .where('noteRead.checkInId', 'is', null)
    .orderBy('checkIn.atMs')
    .orderBy('note.checkInId')
    .execute();
  return rows.map(({ answers, signs, ...note }) => ({
    ...note,
    text: noteTextOf(answers),
    signs: signsSchema.parse(JSON.parse(signs)),
    read: null,
  }));
}

export function noteTextOf(answers: string): string {
  return checkInAnswersSchema.parse(JSON.parse(answers)).note?.trim() ?? '';
}

/** A clinician's answer to a piece of advice; `advice` is its JSON text, as shown. */
export type AnsweredAdvice = Omit<
  Selectable<FollowUpTables['adviceAnswer']>,
  'id' | 'patientId' | 'clinicianId'
>;

/** All answers about a patient, with their authors, newest first. */
export async function adviceAnswersOf(
  db: Db,
  patientId: string,
): Promise<(AnsweredAdvice & { id: string; clinicianId: string; clinicianName: string })[]> {
  return db
    .selectFrom('adviceAnswer')
    .innerJoin('clinician', 'clinician.id', 'adviceAnswer.clinicianId')
    .select([
      'adviceAnswer.id as id',
      'adviceAnswer.prescriptionId as prescriptionId',
      'adviceAnswer.versionNumber as versionNumber',
      'adviceAnswer.exerciseIndex as exerciseIndex',
      'adviceAnswer.advice as advice',
      'adviceAnswer.answer as answer',
      'adviceAnswer.reason as reason',
      'adviceAnswer.newVersionNumber as newVersionNumber',
      'adviceAnswer.clinicianId as clinicianId',
      'adviceAnswer.atMs as atMs',
      'clinician.name as clinicianName',
    ])
    .where('adviceAnswer.patientId', '=', patientId)
    .orderBy('adviceAnswer.atMs', 'desc')
    .orderBy('adviceAnswer.id')
    .execute();
}

/** For a patient whom the caller has checked to be of the clinic. Answers are never changed. */
export async function saveAdviceAnswer(
  db: Db,
  answer: AnsweredAdvice & { patientId: string; clinicianId: string },
): Promise<void> {
  await db
    .insertInto('adviceAnswer')
    .values({ id: randomUUID(), ...answer })
    .execute();
  await scheduleAdvice(db, answer.patientId);
}
