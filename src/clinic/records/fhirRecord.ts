import { createHash } from 'node:crypto';
import { fhirBundle } from '../../documents/fhir/bundle.js';
import type { FhirRecord, RecordedExercise, RecordedProgram } from '../../documents/fhir/record.js';
import { readSigns, urgencyOf } from '../../followup/warningSigns.js';
import { checkInAnswersSchema } from '../../listening/report.js';
import { timetableOf } from '../../prescription/content.js';
import { doseName, doseValue } from '../../prescription/doseWords.js';
import { looseProgram } from '../../prescription/looseProgram.js';
import { timetableInWords } from '../../schedule/inWords.js';
import { colleaguesOf } from '../../store/accounts/colleagues.js';
import { readProgramState } from '../../store/attention/signed.js';
import { allRecordRows } from '../../store/records/record.js';
import { readPatientMeasures } from '../followup/measured.js';
import type { RecordContext } from './readRecord.js';
import { dosesOf, type RecordedDose } from './recordedDoses.js';
import { signedVersions, type VersionOfRecord } from './signedVersions.js';

/** The namespace for our resource names (RFC 9562, section 5.5): a UUID that no one else uses. */
const namespace = Buffer.from('5b0c1d6e3f5a4c8e9a7d2e4f60718293', 'hex');

/** The UUID of a name, always the same: version 5 of RFC 9562. */
export function uuidOf(name: string, within: Buffer = namespace): string {
  const bytes = createHash('sha1').update(within).update(name).digest().subarray(0, 16);
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | 0x50;
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const hex = bytes.toString('hex');
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-');
}

/** A patient's record as a FHIR bundle. It is one document, so it is kept in memory as a whole. */
export async function fhirOf(context: RecordContext): Promise<ReturnType<typeof fhirBundle>> {
  return fhirBundle(await fhirRecordOf(context), context.service.words.record.fhir, uuidOf);
}

async function fhirRecordOf(context: RecordContext): Promise<FhirRecord> {
  const { service, clinicId, clinic, patient, nowMs } = context;
  const { store, workshop } = service;
  const programs = await programsOf(context);
  const caregivers = await allRecordRows(store, 'caregiver', patient.id);
  const measures = await measuresOf(context);
  const warnings = await warningsOf(context);
  const reads = await allRecordRows(store, 'noteRead', patient.id);
  const named = new Set([
    ...programs.flatMap(({ versions }) => versions.map(({ signedBy }) => signedBy)),
    ...measures.map(({ clinicianId }) => clinicianId),
    ...warnings.flatMap(({ answer }) => answer?.clinicianId ?? []),
    ...reads.map(({ clinicianId }) => clinicianId),
  ]);
  const colleagues = await store.read((db) => colleaguesOf(db, clinicId));
  const checkIns = await allRecordRows(store, 'checkIn', patient.id);
  return {
    madeAtMs: nowMs,
    clinic: { id: clinicId, name: clinic.name, phone: clinic.phone },
    patient,
    clinicians: colleagues.filter(({ id }) => named.has(id)).map(({ id, name }) => ({ id, name })),
    caregivers,
    programs,
    checkIns: checkIns.map((row) => ({
      ...row,
      answers: checkInAnswersSchema.parse(JSON.parse(row.answers)),
      noteRead: reads.find(({ checkInId }) => checkInId === row.id) ?? null,
    })),
    measures,
    warnings,
    signs: workshop.warningSigns.signs.map(({ id, words }) => ({ id, words })),
  };
}

async function programsOf({ service, patient, history }: RecordContext): Promise<RecordedProgram[]> {
  const { store, words } = service;
  const happened = await history();
  const prescriptions = await allRecordRows(store, 'prescription', patient.id);
  const versions: VersionOfRecord[] = [];
  for await (const version of signedVersions({ service, patient })) versions.push(version);
  const states = await allRecordRows(store, 'prescriptionState', patient.id);
  return prescriptions.map(({ id, title, newestVersion, ...row }) => ({
    ...{ id, title },
    state: readProgramState({ id, title, newestVersion, ...row, programChecksum: row.checksum }),
    endedAtMs: states.find((each) => each.prescriptionId === id && each.state === 'ended')?.atMs ?? null,
    versions: versions
      .filter(({ prescriptionId }) => prescriptionId === id)
      .flatMap((version) => {
        const { number, content, signedAtMs, signedBy, reason } = version;
        if (content === null) return [];
        const timetable = timetableOf(content);
        return {
          ...{ number, signedAtMs, signedBy, reason, timetable },
          title: titleOf(content) ?? title,
          when: timetableInWords(timetable, words.schedule).when,
          exercises: dosesOf(service, id, version).map((dose) => exerciseOf(dose, words.sides)),
        };
      }),
    damaged: damagedNumbers(
      versions.filter(({ prescriptionId }) => prescriptionId === id),
      newestVersion,
    ),
    outcomes: happened.programs.find(({ prescriptionId }) => prescriptionId === id)?.outcomes ?? [],
  }));
}

/** Versions whose content does not match what was signed, and the newest one if it is missing. */
function damagedNumbers(versions: readonly VersionOfRecord[], newestVersion: number): number[] {
  const damaged = versions.filter(({ content }) => content === null).map(({ number }) => number);
  return versions.some(({ number }) => number === newestVersion) ? damaged : [...damaged, newestVersion];
}

function titleOf(content: string): string | null {
  const { title } = looseProgram(Object(JSON.parse(content)).program);
  return typeof title === 'string' ? title : null;
}

function exerciseOf(
  { name, dose, side, note, adapted }: RecordedDose,
  sides: Readonly<Record<string, string>>,
): RecordedExercise {
  return {
    name,
    dose: Object.entries(dose)
      .filter(([key]) => key !== 'setRestSeconds' || (dose.sets ?? 1) > 1)
      .map(([key, value]) => `${doseName(key)} ${doseValue(key, value)}`),
    durationSeconds: dose.durationSeconds ?? null,
    side: side === null ? null : (sides[side] ?? side),
    note:
      note === null && adapted.length === 0 ? null : [...(note === null ? [] : [note]), ...adapted].join(' '),
  };
}

async function measuresOf({ service, clinicId, patient }: RecordContext): Promise<FhirRecord['measures']> {
  const measured = await service.store.read((db) => readPatientMeasures(db, service, { clinicId, patient }));
  return measured.flatMap(({ measure, rows }) =>
    rows.map(({ withdrawn, by: _by, entered: _entered, ...row }) => ({
      ...row,
      name: measure.name,
      unit: measure.unit,
      withdrawnReason: withdrawn?.reason ?? null,
    })),
  );
}

async function warningsOf({ service, patient }: RecordContext): Promise<FhirRecord['warnings']> {
  const { store, workshop } = service;
  const { warningSigns } = workshop;
  const answers = await allRecordRows(store, 'warningAnswer', patient.id);
  const warnings = await allRecordRows(store, 'warning', patient.id);
  return warnings.map(({ signs, ...warning }) => {
    const ids = readSigns(signs);
    return {
      ...warning,
      signs: ids.map((id) => warningSigns.signs.find((sign) => sign.id === id)?.words ?? id),
      urgency: urgencyOf(warningSigns, ids),
      answer: answers.find(({ warningId }) => warningId === warning.id) ?? null,
    };
  });
}
