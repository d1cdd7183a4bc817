import { type CheckInAnswers, checkInAnswersSchema } from '../../listening/report.js';
import { allRecordRows, recordRows } from '../../store/records/record.js';
import type { RecordContext } from './readRecord.js';
import { type Columns, instantOf, type RecordTableFile, tableOf } from './table.js';

/** The columns of every device report. */
type Reported = {
  id: string;
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  slot: string;
  linkId: string;
  caregiverId: string | null;
  atMs: number;
  receivedAtMs: number;
};
const reported: Columns<Reported> = {
  id: (row) => row.id,
  programId: (row) => row.prescriptionId,
  version: (row) => row.versionNumber,
  session: (row) => row.sessionNumber,
  slot: (row) => row.slot,
  linkId: (row) => row.linkId,
  caregiverId: (row) => row.caregiverId,
  at: (row) => instantOf(row.atMs),
  receivedAt: (row) => instantOf(row.receivedAtMs),
};

/** What happened: sessions, what was heard and reported, warning signs with their answers, measures. */
export function heardTables(context: RecordContext): RecordTableFile[] {
  const { service, patient, nameOf } = context;
  const { store } = service;
  const { id } = patient;
  return [
    tableOf('sessions', () => sessionsOf(context), {
      programId: (row) => row.prescriptionId,
      slot: (row) => row.slot,
      day: (row) => row.day,
      dueAt: (row) => instantOf(row.dueAtMs),
      isPlanned: (row) => row.isPlanned,
      version: (row) => row.versionNumber,
      outcome: (row) => row.kind,
      excuse: (row) => row.excuse,
      putOff: (row) => row.putOff,
      heardSeconds: (row) => Math.round(row.listened.reduce((sum, each) => sum + each.heardMs, 0) / 1000),
      checkIns: (row) => row.checkIns.length,
      isContradictory: (row) => row.isContradictory,
    }),
    tableOf('listenings', () => recordRows(store, 'listened', id), {
      listeningId: (row) => row.listeningId,
      programId: (row) => row.prescriptionId,
      version: (row) => row.versionNumber,
      session: (row) => row.sessionNumber,
      slot: (row) => row.slot,
      caregiverId: (row) => row.caregiverId,
      startedAt: (row) => instantOf(row.startedAtMs),
      lastAt: (row) => instantOf(row.lastAtMs),
      heardMs: (row) => row.heardMs,
      reachedMs: (row) => row.reachedMs,
      finishedAt: (row) => instantOf(row.finishedAtMs),
      pauseCount: (row) => row.pauseCount,
      pausedMs: (row) => row.pausedMs,
      stoppedAt: (row) => instantOf(row.stoppedAtMs),
      easierChoice: (row) => row.choice,
    }),
    tableOf('steps', () => recordRows(store, 'listeningStep', id), {
      ...reported,
      listeningId: (row) => row.listeningId,
      step: (row) => row.step,
      positionMs: (row) => row.positionMs,
      easierChoice: (row) => row.choice,
    }),
    tableOf('check-ins', () => checkInsOf(context), {
      ...reported,
      listeningId: (row) => row.listeningId,
      done: (row) => answered(row.said.done),
      painBefore: (row) => answered(row.said.painBefore),
      painAfter: (row) => answered(row.said.painAfter),
      effort: (row) => answered(row.said.effort),
      signs: (row) => answered(signsOf(row.said)),
      note: (row) => answered(row.said.note),
      noteReadBy: (row) => (row.read === null ? null : nameOf(row.read.clinicianId)),
      noteReadAt: (row) => instantOf(row.read?.atMs ?? null),
      noteFinding: (row) => row.read?.found ?? null,
      easierChoice: (row) => row.choice,
    }),
    tableOf('put-off', () => recordRows(store, 'notToday', id), {
      ...reported,
      reason: (row) => row.reason,
    }),
    tableOf('fetched', () => recordRows(store, 'feedDelivery', id), reported),
    tableOf('warnings', () => warningsOf(context), {
      ...reported,
      listeningId: (row) => row.listeningId,
      positionMs: (row) => row.positionMs,
      signs: (row) => row.signs,
      answer: (row) => row.answer?.note ?? null,
      answeredBy: (row) => (row.answer === null ? null : nameOf(row.answer.clinicianId)),
      answeredAt: (row) => instantOf(row.answer?.atMs ?? null),
    }),
    tableOf('measures', () => measuresOf(context), {
      id: (row) => row.id,
      measureId: (row) => row.measureId,
      value: (row) => row.value,
      entered: (row) => row.entered,
      takenOn: (row) => row.takenOn,
      note: (row) => row.note,
      clinician: (row) => nameOf(row.clinicianId),
      at: (row) => instantOf(row.atMs),
      withdrawnReason: (row) => row.withdrawn?.reason ?? null,
      withdrawnBy: (row) => (row.withdrawn === null ? null : nameOf(row.withdrawn.clinicianId)),
      withdrawnAt: (row) => instantOf(row.withdrawn?.atMs ?? null),
    }),
    tableOf('own-measures', () => recordRows(store, 'ownMeasure', id), {
      measureId: (row) => row.id,
      name: (row) => row.name,
      unit: (row) => row.unit,
      least: (row) => row.least,
      most: (row) => row.most,
      better: (row) => row.better,
      createdAt: (row) => instantOf(row.createdAtMs),
      endedAt: (row) => instantOf(row.endedAtMs),
    }),
  ];
}

/** `none` for "none of these". */
function signsOf({ signs }: CheckInAnswers): string | null | undefined {
  if (signs == null) return signs;
  return signs.length === 0 ? 'none' : signs.join(' ');
}

/** An answer as given; `skipped` means left out, and an empty cell means never asked. */
function answered<Value extends string | number>(value: Value | null | undefined): Value | 'skipped' | null {
  if (value === undefined) return null;
  return value ?? 'skipped';
}

async function* sessionsOf({ history }: RecordContext) {
  for (const { prescriptionId, outcomes } of (await history()).programs) {
    for (const outcome of outcomes) yield { prescriptionId, ...outcome };
  }
}

async function* checkInsOf({ service, patient }: RecordContext) {
  const reads = await allRecordRows(service.store, 'noteRead', patient.id);
  const readOf = new Map(reads.map((read) => [read.checkInId, read]));
  for await (const row of recordRows(service.store, 'checkIn', patient.id)) {
    const answers = checkInAnswersSchema.parse(JSON.parse(row.answers));
    yield { ...row, said: answers, read: readOf.get(row.id) ?? null };
  }
}

async function* warningsOf({ service, patient }: RecordContext) {
  const answers = await allRecordRows(service.store, 'warningAnswer', patient.id);
  for await (const row of recordRows(service.store, 'warning', patient.id)) {
    yield { ...row, answer: answers.find(({ warningId }) => warningId === row.id) ?? null };
  }
}

async function* measuresOf({ service, patient }: RecordContext) {
  const struckOut = await allRecordRows(service.store, 'measureWithdrawn', patient.id);
  for await (const row of recordRows(service.store, 'measureTaken', patient.id)) {
    yield { ...row, withdrawn: struckOut.find(({ measureTakenId }) => measureTakenId === row.id) ?? null };
  }
}
