import { randomUUID } from 'node:crypto';
import { adviseSoon } from './adviceWatch.js';
import type { AdviceAnswer } from './followUpSchema.js';
import type { Db } from './openStore.js';

/** What a clinician said to a piece of advice; `advice` is JSON text of it, as it was shown. */
export type AnsweredAdvice = {
  prescriptionId: string;
  versionNumber: number;
  /** Null for advice on the whole program. */
  exerciseIndex: number | null;
  advice: string;
  answer: AdviceAnswer;
  reason: string;
  newVersionNumber: number | null;
  atMs: number;
};

/** For a patient whom the caller has checked to be of the clinic. Answers are never changed. */
export async function keepAdviceAnswer(
  db: Db,
  answer: AnsweredAdvice & { patientId: string; clinicianId: string },
): Promise<void> {
  await db
    .insertInto('adviceAnswer')
    .values({ id: randomUUID(), ...answer })
    .execute();
  await adviseSoon(db, answer.patientId);
}

/** Everything that was answered about a patient, with who did, the newest first. */
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
