import type { Db } from '../engine/openStore.js';
import type { AttentionKind } from '../schema/peopleSchema.js';
import { isWholeScreening, programColumns, readProgramState } from './signed.js';

/**
 * Locks everything that belongs to a patient until the transaction ends, also on a server with many connections.
 *
 * @param clinicId if it is not yet known whose patient it is: none of another clinic is locked
 */
export async function lockPatient(db: Db, id: string, clinicId?: string): Promise<void> {
  const locking = db
    .updateTable('patient')
    .set(({ ref }) => ({ revision: ref('revision') }))
    .where('id', '=', id);
  await (clinicId === undefined ? locking : locking.where('clinicId', '=', clinicId)).execute();
}

/**
 * Something about a patient has changed: attention and advice are recomputed, and reminders are planned again. Anything
 * that changes a program, a screening or a warning calls it in its own transaction.
 */
export async function scheduleAfterChange(db: Db, patientId: string): Promise<void> {
  await refreshAttention(db, patientId);
  await schedulePlanning(db, patientId);
  await scheduleAdvice(db, patientId);
}

/** Schedules planning of a patient's reminders as soon as possible: something about them has changed. */
export async function schedulePlanning(db: Db, patientId: string): Promise<void> {
  await db
    .insertInto('reminderWatch')
    .columns(['patientId', 'clinicId', 'planAtMs'])
    .expression((eb) =>
      eb
        .selectFrom('patient')
        .select(['id', 'clinicId', eb.lit(0).as('planAtMs')])
        .where('id', '=', patientId),
    )
    .onConflict((conflict) => conflict.column('patientId').doUpdateSet({ planAtMs: 0 }))
    .execute();
}

/** Schedules a recomputation of a patient's advice as soon as possible: something was reported, signed or answered. */
export async function scheduleAdvice(db: Db, patientId: string): Promise<void> {
  await db
    .insertInto('adviceWatch')
    .columns(['patientId', 'clinicId', 'lookAtMs'])
    .expression((eb) =>
      eb
        .selectFrom('patient')
        .select(['id', 'clinicId', eb.lit(0).as('lookAtMs')])
        .where('id', '=', patientId),
    )
    .onConflict((conflict) => conflict.column('patientId').doUpdateSet({ lookAtMs: 0 }))
    .execute();
}

/**
 * Rule WARN-2: an unanswered warning holds everything. When the oldest one was received, on the service’s clock, or
 * null.
 */
export async function openWarningSince(db: Db, patientId: string): Promise<number | null> {
  const found = await db
    .selectFrom('warning')
    .leftJoin('warningAnswer', 'warningAnswer.warningId', 'warning.id')
    .select('warning.receivedAtMs')
    .where('warning.patientId', '=', patientId)
    .where('warningAnswer.warningId', 'is', null)
    .orderBy('warning.receivedAtMs')
    .limit(1)
    .executeTakeFirst();
  return found?.receivedAtMs ?? null;
}

/**
 * Active programs that cannot be played as they were signed, each with the time this was found, so that every process
 * and every page knows the same; they are neither played nor reminded of.
 */
export async function findUnplayable(db: Db, patientIds: readonly string[]): Promise<Map<string, number>> {
  if (patientIds.length === 0) return new Map();
  const rows = await db
    .selectFrom('notPlayable')
    .innerJoin('prescription', 'prescription.id', 'notPlayable.prescriptionId')
    .select(programColumns)
    .select('notPlayable.fromMs')
    .where('notPlayable.patientId', 'in', patientIds)
    .where('notPlayable.untilMs', 'is', null)
    .execute();
  return new Map(
    rows.filter((row) => readProgramState(row) === 'active').map(({ id, fromMs }) => [id, fromMs]),
  );
}

/** One reason why a patient needs a clinician. */
export type Reason = { kind: AttentionKind; subject: string; sinceMs: number };

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

/** The interview has questions that a patient with an active program was never asked. */
export const unaskedKinds = ['questions-urgent', 'questions-new'] as const satisfies AttentionKind[];

/** What was noted about questions never asked, and still applies. */
async function listIncompleteFlags(db: Db, patientId: string): Promise<Reason[]> {
  const noted = await db
    .selectFrom('attention')
    .select(['kind', 'subject', 'sinceMs'])
    .where('patientId', '=', patientId)
    .where('kind', 'in', [...unaskedKinds])
    .execute();
  if (noted.length === 0) return [];
  const newest = await db
    .selectFrom('screening')
    .select(({ fn }) => fn.max('atMs').as('atMs'))
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  if (!(await hasActiveProgram(db, patientId))) return [];
  return noted.filter(({ sinceMs }) => Number(newest?.atMs ?? 0) <= sinceMs);
}

/** Whether a program of a patient is active. */
export async function hasActiveProgram(db: Db, patientId: string): Promise<boolean> {
  const active = await db
    .selectFrom('prescription')
    .select('id')
    .where('patientId', '=', patientId)
    .where('state', '=', 'active')
    .limit(1)
    .executeTakeFirst();
  return active !== undefined;
}

async function reasonsFor(db: Db, patientId: string, createdAtMs: number): Promise<Reason[]> {
  const screening = await db
    .selectFrom('screening')
    .selectAll()
    .where('patientId', '=', patientId)
    .orderBy('number', 'desc')
    .limit(1)
    .executeTakeFirst();
  const programs = await newestPrograms(db, patientId);
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

/** The programs of a patient, each with its newest version and the time it was last paused, resumed or ended. */
function newestPrograms(db: Db, patientId: string) {
  return db
    .selectFrom('prescription')
    .innerJoin('prescriptionVersion', (join) =>
      join
        .onRef('prescriptionVersion.prescriptionId', '=', 'prescription.id')
        .onRef('prescriptionVersion.number', '=', 'prescription.newestVersion'),
    )
    .select(['prescription.id', 'prescription.state', 'prescriptionVersion.signedAtMs'])
    .select('prescriptionVersion.screeningId')
    .select(({ selectFrom }) =>
      selectFrom('prescriptionState')
        .select(({ fn }) => fn.max('prescriptionState.atMs').as('atMs'))
        .whereRef('prescriptionState.prescriptionId', '=', 'prescription.id')
        .as('changedAtMs'),
    )
    .where('prescription.patientId', '=', patientId)
    .execute();
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
