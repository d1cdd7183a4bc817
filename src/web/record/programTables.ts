import { timetableSchema } from '../../prescription/content.js';
import { recordRows } from '../../store/record.js';
import type { RecordContext } from './readRecord.js';
import { doseNames, dosesOf } from './recordedDoses.js';
import { type Columns, instantOf, type RecordTableFile, tableOf } from './table.js';

/** What was prescribed: programs, their versions with every dose, what was advised and answered, notes, unsigned work. */
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
      signedAt: (row) => instantOf(row.signedAtMs),
      signedBy: (row) => nameOf(row.signedBy),
      reason: (row) => row.reason,
      screeningId: (row) => row.screeningId,
      timesADay: (row) => row.timetable.timesADay,
      daysAWeek: (row) => row.timetable.daysAWeek,
      timesOfDay: (row) => row.timetable.timesOfDay.join(' '),
      weekdayTimes: (row) => JSON.stringify(row.timetable.weekdayTimes),
      startsOn: (row) => row.timetable.startsOn,
      endsOn: (row) => row.timetable.endsOn,
      reviewOn: (row) => row.timetable.reviewOn,
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

async function* versionsOf({ service, patient }: RecordContext) {
  for await (const version of recordRows(service.store, 'prescriptionVersion', patient.id)) {
    yield { ...version, timetable: timetableSchema.parse(JSON.parse(version.content)) };
  }
}

async function* allDoses({ service, patient }: RecordContext) {
  for await (const version of recordRows(service.store, 'prescriptionVersion', patient.id)) {
    const { prescriptionId, number } = version;
    for (const [index, dose] of dosesOf(service, prescriptionId, version).entries()) {
      yield { prescriptionId, number, place: index + 1, ...dose };
    }
  }
}
