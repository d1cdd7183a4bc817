import { timetableOf } from '../../prescription/content.js';
import { isWholeProgram } from '../../store/attention/signed.js';
import { recordRows } from '../../store/records/record.js';
import type { RecordContext } from './readRecord.js';
import { doseNames, dosesOf } from './recordedDoses.js';
import { signedVersions } from './signedVersions.js';
import { type Columns, instantOf, type RecordTableFile, tableOf } from './table.js';

/** Prescriptions: programs, their versions with every dose, advice and answers, notes, drafts. */
export function programTables(context: RecordContext): RecordTableFile[] {
  const { service, patient, nameOf } = context;
  const { store } = service;
  const { id } = patient;
  return [
    tableOf('programs', () => recordRows(store, 'prescription', id), {
      id: (row) => row.id,
      title: (row) => row.title,
      state: (row) => row.state,
      newestVersion: (row) => row.newestVersion,
      isDamaged: (row) => !isWholeProgram({ ...row, programChecksum: row.checksum }),
      createdAt: (row) => instantOf(row.createdAtMs),
    }),
    tableOf('program-states', () => recordRows(store, 'prescriptionState', id), {
      programId: (row) => row.prescriptionId,
      state: (row) => row.state,
      reason: (row) => row.reason,
      clinician: (row) => nameOf(row.clinicianId),
      at: (row) => instantOf(row.atMs),
    }),
    tableOf('not-playable', () => recordRows(store, 'notPlayable', id), {
      programId: (row) => row.prescriptionId,
      from: (row) => instantOf(row.fromMs),
      until: (row) => (row.untilMs === null ? null : instantOf(row.untilMs)),
    }),
    tableOf('versions', () => versionsOf(context), {
      programId: (row) => row.prescriptionId,
      version: (row) => row.number,
      // Nothing of a damaged version is exported as if it were reliable.
      isDamaged: (row) => row.damage !== null,
      signedAt: (row) => (row.damage === null ? instantOf(row.signedAtMs) : null),
      signedBy: (row) => (row.damage === null ? nameOf(row.signedBy) : null),
      reason: (row) => (row.damage === null ? row.reason : null),
      screeningId: (row) => (row.damage === null ? row.screeningId : null),
      timesADay: (row) => row.timetable?.timesADay ?? null,
      daysAWeek: (row) => row.timetable?.daysAWeek ?? null,
      timesOfDay: (row) => row.timetable?.timesOfDay.join(' ') ?? null,
      weekdayTimes: (row) => (row.timetable === null ? null : JSON.stringify(row.timetable.weekdayTimes)),
      startsOn: (row) => row.timetable?.startsOn ?? null,
      endsOn: (row) => row.timetable?.endsOn ?? null,
      reviewOn: (row) => row.timetable?.reviewOn ?? null,
      content: (row) => row.content,
    }),
    tableOf('doses', () => allDoses(context), {
      programId: (row) => row.prescriptionId,
      version: (row) => row.number,
      place: (row) => row.place,
      exerciseId: (row) => row.exerciseId,
      exercise: (row) => row.name,
      side: (row) => row.side,
      ...doseColumns,
      note: (row) => row.note,
      adapted: (row) => row.adapted.join(' '),
    }),
    tableOf('advice', () => recordRows(store, 'adviceAnswer', id), {
      id: (row) => row.id,
      programId: (row) => row.prescriptionId,
      version: (row) => row.versionNumber,
      place: (row) => (row.exerciseIndex === null ? null : row.exerciseIndex + 1),
      answer: (row) => row.answer,
      reason: (row) => row.reason,
      newVersion: (row) => row.newVersionNumber,
      clinician: (row) => nameOf(row.clinicianId),
      at: (row) => instantOf(row.atMs),
      advice: (row) => row.advice,
    }),
    tableOf('notes', () => recordRows(store, 'progressNote', id), {
      id: (row) => row.id,
      fromDay: (row) => row.fromDay,
      untilDay: (row) => row.untilDay,
      text: (row) => row.text,
      clinician: (row) => nameOf(row.clinicianId),
      at: (row) => instantOf(row.atMs),
    }),
    tableOf('unsigned-work', () => recordRows(store, 'draft', id), {
      clinician: (row) => nameOf(row.clinicianId),
      programId: (row) => row.prescriptionId,
      basedOnVersion: (row) => row.basedOnNumber,
      updatedAt: (row) => instantOf(row.updatedAtMs),
      content: (row) => row.content,
    }),
  ];
}

type DoseRow = { dose: Readonly<Record<string, number>> };
const doseColumns: Columns<DoseRow> = Object.fromEntries(
  doseNames.map((name) => [name, ({ dose }: DoseRow) => dose[name] ?? null]),
);

async function* versionsOf(context: RecordContext) {
  for await (const version of signedVersions(context)) {
    yield { ...version, timetable: version.content === null ? null : timetableOf(version.content) };
  }
}

async function* allDoses(context: RecordContext) {
  for await (const version of signedVersions(context)) {
    const { prescriptionId, number } = version;
    for (const [index, dose] of dosesOf(context.service, prescriptionId, version).entries()) {
      yield { prescriptionId, number, place: index + 1, ...dose };
    }
  }
}
