import type { Db } from '../engine/openStore.js';
import type { unaskedKinds } from './patientChanged.js';
import { isWholeScreening } from './signed.js';

type UnaskedKind = (typeof unaskedKinds)[number];

/** A patient with an active program, and the answers of their newest interview as JSON text; null if it is damaged. */
export type AnswersInUse = { patientId: string; clinicId: string; answers: string | null };

/** Screened patients with an active program, by id; those after a given one. */
export async function listAnswersInUse(
  db: Db,
  { after, most }: { after: string; most: number },
): Promise<AnswersInUse[]> {
  const rows = await db
    .selectFrom('patient')
    .innerJoin('screening', 'screening.patientId', 'patient.id')
    .selectAll('screening')
    .select('patient.clinicId')
    .where('patient.id', '>', after)
    .where(({ eb, selectFrom }) =>
      eb(
        'screening.number',
        '=',
        selectFrom('screening as newest')
          .select(({ fn }) => fn.max('newest.number').as('number'))
          .whereRef('newest.patientId', '=', 'patient.id'),
      ),
    )
    .where(({ exists, selectFrom }) =>
      exists(
        selectFrom('prescription')
          .select('prescription.id')
          .whereRef('prescription.patientId', '=', 'patient.id')
          .where('prescription.state', '=', 'active'),
      ),
    )
    .orderBy('patient.id')
    .limit(most)
    .execute();
  return rows.map(({ clinicId, ...row }) => ({
    ...{ patientId: row.patientId, clinicId },
    answers: isWholeScreening(row) ? row.answers : null,
  }));
}

/** Puts a patient on the home page until another interview is recorded, or no program is active any longer. */
export async function saveIncompleteFlag(
  db: Db,
  { patientId, clinicId }: Pick<AnswersInUse, 'patientId' | 'clinicId'>,
  { kind, nowMs }: { kind: UnaskedKind; nowMs: number },
): Promise<void> {
  await db
    .insertInto('attention')
    .values({ clinicId, patientId, kind, subject: patientId, sinceMs: nowMs })
    .onConflict((conflict) => conflict.columns(['patientId', 'kind', 'subject']).doNothing())
    .execute();
}
