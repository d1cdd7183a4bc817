import type { Db } from '../engine/openStore.js';
import type { AttentionKind } from '../schema/peopleSchema.js';
import type { Reason } from './patientChanged.js';

/**
 * Reports that may mean danger for a patient come before everything else; all of them are shown, however many there
 * are.
 */
const warningKinds: readonly AttentionKind[] = ['warning-sign', 'urgent-note'];

/** The urgent reasons that come next. */
const urgentKinds: readonly AttentionKind[] = [
  'stopped',
  'questions-urgent',
  'not-playable',
  'screening-damaged',
];

export type Attention = Reason & { patientId: string; patientName: string };

/**
 * Who needs attention: warning signs first, then notes that may name one, then everything urgent, longest waiting first
 * within each; and the total number of reasons.
 *
 * @param most how many are wanted; there may be more if they are warnings
 */
export async function attentionOf(
  db: Db,
  clinicId: string,
  most: number,
): Promise<{ first: Attention[]; total: number }> {
  const warnings = await inOrder(db, clinicId).where('attention.kind', 'in', warningKinds).execute();
  const free = Math.max(0, most - warnings.length);
  const others =
    free === 0
      ? []
      : await inOrder(db, clinicId).where('attention.kind', 'not in', warningKinds).limit(free).execute();
  const first = [...warnings, ...others];
  if (others.length < free) return { first, total: first.length };
  const counted = await db
    .selectFrom('attention')
    .select(({ fn }) => fn.countAll().as('total'))
    .where('clinicId', '=', clinicId)
    .executeTakeFirst();
  return { first, total: Number(counted?.total ?? first.length) };
}

function inOrder(db: Db, clinicId: string) {
  return db
    .selectFrom('attention')
    .innerJoin('patient', 'patient.id', 'attention.patientId')
    .select(['attention.patientId', 'attention.kind', 'attention.subject', 'attention.sinceMs'])
    .select('patient.name as patientName')
    .where('attention.clinicId', '=', clinicId)
    .orderBy(({ eb }) =>
      eb
        .case()
        .when('attention.kind', '=', 'warning-sign')
        .then(0)
        .when('attention.kind', '=', 'urgent-note')
        .then(1)
        .when('attention.kind', 'in', urgentKinds)
        .then(2)
        .else(3)
        .end(),
    )
    .orderBy('attention.sinceMs')
    .orderBy('attention.patientId');
}
