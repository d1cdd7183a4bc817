import type { Db } from '../engine/openStore.js';
import type { AttentionKind } from '../schema/peopleSchema.js';
import { lockPatient } from './lockPatient.js';
import { newestPrograms } from './newestPrograms.js';
import { findUnplayable } from './notPlayed.js';
import { openWarningSince } from './openWarning.js';
import { isWholeScreening } from './signed.js';
import { listIncompleteFlags } from './unasked.js';

/**
 * What a patient has reported and may be in danger from, before everything else; however many there are, all are shown.
 */
const warningKinds: readonly AttentionKind[] = ['warning-sign', 'urgent-note'];

/** What is urgent and comes next. */
const urgentKinds: readonly AttentionKind[] = [
  'stopped',
  'questions-urgent',
  'not-playable',
  'screening-damaged',
];

/** One reason why a patient needs a clinician. */
type Reason = { kind: AttentionKind; subject: string; sinceMs: number };
export type Attention = Reason & { patientId: string; patientName: string };

/**
 * Recomputes whether one patient needs attention. Anything that changes something about them calls it in its own
 * transaction.
 */
export async function refreshAttention(db: Db, patientId: string): Promise<void> {
  // Two of them must not interleave: one could remove a warning sign again.
  await lockPatient(db, patientId);
  const patient = await db
    .selectFrom('patient')
    .select(['clinicId', 'createdAtMs'])
    .where('id', '=', patientId)
    .executeTakeFirst();
  // Erased while something about them was still in progress.
  if (patient === undefined) return;
  const { clinicId } = patient;
  const warnedSinceMs = await openWarningSince(db, patientId);
  const warning: Reason[] =
    warnedSinceMs === null ? [] : [{ kind: 'warning-sign', subject: patientId, sinceMs: warnedSinceMs }];
  const reasons = [
    ...warning,
    ...(await notesFor(db, patientId)),
    ...(await listIncompleteFlags(db, patientId)),
    ...(await reasonsFor(db, patientId, patient.createdAtMs)),
    ...(await remindedOf(db, patientId)),
    // Found by code that knows the catalogue: it stays while the program is active unchanged.
    ...[...(await findUnplayable(db, [patientId]))].map(
      ([subject, sinceMs]): Reason => ({ kind: 'not-playable', subject, sinceMs }),
    ),
  ];
  await db.deleteFrom('attention').where('patientId', '=', patientId).execute();
  if (reasons.length === 0) return;
  await db
    .insertInto('attention')
    .values(reasons.map((reason) => ({ clinicId, patientId, ...reason })))
    .execute();
}

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

/** Unread notes; one that may name a warning sign moves the others up with it. */
async function notesFor(db: Db, patientId: string): Promise<Reason[]> {
  const unread = await db
    .selectFrom('note')
    .innerJoin('checkIn', 'checkIn.id', 'note.checkInId')
    .leftJoin('noteRead', 'noteRead.checkInId', 'note.checkInId')
    .select(['note.signs', 'checkIn.receivedAtMs'])
    .where('note.patientId', '=', patientId)
    .where('noteRead.checkInId', 'is', null)
    .orderBy('checkIn.receivedAtMs')
    .execute();
  const [oldest] = unread;
  if (oldest === undefined) return [];
  const urgent = unread.find(({ signs }) => signs !== '[]');
  const kind = urgent === undefined ? 'unread-note' : 'urgent-note';
  return [{ kind, subject: patientId, sinceMs: (urgent ?? oldest).receivedAtMs }];
}

async function reasonsFor(db: Db, patientId: string, createdAtMs: number): Promise<Reason[]> {
  const screening = await db
    .selectFrom('screening')
    .selectAll()
    .where('patientId', '=', patientId)
    .orderBy('number', 'desc')
    .limit(1)
    .executeTakeFirst();
  const programs = await newestPrograms(db, patientId).select(['prescriptionVersion.screeningId']).execute();
  if (screening === undefined) {
    return [{ kind: 'to-screen', subject: patientId, sinceMs: createdAtMs }];
  }
  // It may have stopped all exercise.
  if (!isWholeScreening(screening)) {
    const kind = 'screening-damaged';
    // Nothing in it says since when.
    const known = await db
      .selectFrom('attention')
      .select('sinceMs')
      .where('patientId', '=', patientId)
      .where('kind', '=', kind)
      .executeTakeFirst();
    return [{ kind, subject: patientId, sinceMs: known?.sinceMs ?? Date.now() }];
  }
  if (screening.stops === 1) return [{ kind: 'stopped', subject: patientId, sinceMs: screening.atMs }];
  // A patient whose programs have all ended has been discharged.
  if (programs.length === 0) return [{ kind: 'to-prescribe', subject: patientId, sinceMs: screening.atMs }];
  return programs.flatMap(({ id, state, signedAtMs, screeningId, changedAtMs }): Reason[] => {
    if (state === 'paused') return [{ kind: 'paused', subject: id, sinceMs: changedAtMs ?? signedAtMs }];
    const isOutdated = state === 'active' && screeningId !== screening.id;
    return isOutdated ? [{ kind: 'screened-again', subject: id, sinceMs: screening.atMs }] : [];
  });
}

/** Findings of planning and sending reminders, and advice. */
async function remindedOf(db: Db, patientId: string): Promise<Reason[]> {
  const failed = await db
    .selectFrom('delivery')
    .select('settledAtMs')
    .where('patientId', '=', patientId)
    .where('state', '=', 'failed')
    .where('seenAtMs', 'is', null)
    .orderBy('settledAtMs')
    .limit(1)
    .executeTakeFirst();
  const watch = await db
    .selectFrom('reminderWatch')
    .select(['quietSinceMs', 'reviewSinceMs'])
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  const advice = await db
    .selectFrom('adviceWatch')
    .select('sinceMs')
    .where('patientId', '=', patientId)
    // A possible step up can wait for the next look at everyone.
    .where('waits', 'in', ['review', 'step-down'])
    .executeTakeFirst();
  const since = {
    'not-delivered': failed?.settledAtMs ?? null,
    'gone-quiet': watch?.quietSinceMs ?? null,
    'advice-waits': advice?.sinceMs ?? null,
    'to-review': watch?.reviewSinceMs ?? null,
  } as const;
  return (['not-delivered', 'gone-quiet', 'advice-waits', 'to-review'] as const).flatMap((kind) => {
    const sinceMs = since[kind];
    return sinceMs === null ? [] : [{ kind, subject: patientId, sinceMs }];
  });
}
