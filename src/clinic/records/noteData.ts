import type { Days } from '../../documents/noteProgram.js';
import type { NoteData, WarningNoted } from '../../documents/progressNote.js';
import { readSigns } from '../../followup/warningSigns.js';
import { type Warning, warningsOf } from '../../store/followup/history.js';
import type { Patient } from '../../store/people/chart.js';
import type { Actor } from '../actor.js';
import { readPatientMeasures } from '../followup/measured.js';
import { readHistory } from '../followup/readHistory.js';
import { describeSign } from '../listening/signs.js';
import { openChart } from '../people/chart.js';
import type { Resources } from '../resources/resources.js';
import { describeMeasureForNote } from './measureNoted.js';
import { listAnsweredAdvice, listProgramChanges, listPrograms } from './programHistory.js';

/** The resources for everything that is written about a patient. */
export type NoteResources = Pick<Resources, 'store' | 'workshop' | 'words' | 'lengths' | 'versions' | 'now'>;

const mostWarnings = 10_000;
/** All data in the record for a progress note on a period. */
export async function noteData(
  service: NoteResources,
  { clinician }: Actor,
  patient: Patient,
  days: Days,
): Promise<NoteData> {
  const { store, words } = service;
  const { clinicId, clinicName } = clinician;
  const of = { clinicId, patientId: patient.id };
  const programs = await store.read((db) => listPrograms(db, of));
  const upTo = { clinicId, patient, untilDay: days.untilDay };
  const measured = await store.read((db) => readPatientMeasures(db, service, upTo));
  return {
    clinicName,
    personName: patient.name,
    birthYear: patient.birthYear,
    days,
    history: await readHistory(service, openChart(store, clinicId, patient)),
    stateWords: words.prescriptionStates,
    changes: programs.flatMap((program) => listProgramChanges(service, program)),
    advice: await store.read((db) => listAnsweredAdvice(db, service, patient.id)),
    warnings: await listWarningsForNote(service, patient.id),
    measures: measured.flatMap((each) => describeMeasureForNote(each, patient, service)),
  };
}

/** All warning signs of a patient in words, oldest first. */
export async function listWarningsForNote(
  service: Pick<Resources, 'store' | 'workshop'>,
  patientId: string,
): Promise<WarningNoted[]> {
  const warnings = await service.store.read((db) => warningsOf(db, patientId, mostWarnings));
  return [...warnings]
    .sort((a, b) => a.atMs - b.atMs)
    .map(({ atMs, signs, answer }: Warning) => ({
      atMs,
      signs: readSigns(signs).map((id) => describeSign(service, id)),
      answer: answer === null ? null : { note: answer.note, by: answer.clinicianName, atMs: answer.atMs },
    }));
}
