import { randomUUID } from 'node:crypto';
import type { Selectable } from 'kysely';
import { scheduleAdvice } from '../attention/adviceWatch.js';
import type { Db } from '../engine/openStore.js';
import type { FollowUpTables } from '../schema/followUpSchema.js';

/** A clinician's answer to a piece of advice; `advice` is its JSON text, as shown. */
export type AnsweredAdvice = Omit<
  Selectable<FollowUpTables['adviceAnswer']>,
  'id' | 'patientId' | 'clinicianId'
>;

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
