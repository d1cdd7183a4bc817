import { z } from 'zod';
import type { Days } from '../../documents/noteProgram.js';
import type { MeasureNoted, NoteData, WarningNoted } from '../../documents/progressNote.js';
import { type Warning, warningsOf } from '../../store/listeningRecords.js';
import type { Patient } from '../../store/patients.js';
import type { Actor } from '../acts/actor.js';
import { changeView, shownValue } from '../followup/changeView.js';
import { historyOf } from '../followup/historyOf.js';
import { type Measured, measuredOf } from '../followup/measured.js';
import type { Service } from '../service.js';
import { adviceAnswered, changesMade, programsKept } from './programs.js';

const mostWarnings = 10_000;
const signsSchema = z.array(z.string());

/** Everything that the record holds for a progress note on some days. */
export async function noteData(
  service: Service,
  { clinician }: Actor,
  patient: Patient,
  days: Days,
): Promise<NoteData> {
  const { store, words } = service;
  const { clinicId, clinicName } = clinician;
  const of = { clinicId, patientId: patient.id };
  const programs = await store.read((db) => programsKept(db, of));
  const measured = await store.read((db) => measuredOf(db, service, { clinicId, patient }));
  return {
    clinicName,
    personName: patient.name,
    birthYear: patient.birthYear,
    days,
    history: await historyOf(service, clinicId, patient.id),
    stateWords: words.prescriptionStates,
    changes: programs.flatMap((program) => changesMade(service, program)),
    advice: await store.read((db) => adviceAnswered(db, service, patient.id)),
    warnings: await warningsNoted(service, patient.id),
    measures: measured.flatMap((each) => measureNoted(each, days, service)),
  };
}

/** Every warning sign of a patient in words, oldest first. */
export async function warningsNoted(service: Service, patientId: string): Promise<WarningNoted[]> {
  const warnings = await service.store.read((db) => warningsOf(db, patientId, mostWarnings));
  return [...warnings]
    .sort((a, b) => a.atMs - b.atMs)
    .map(({ atMs, signs, answer }: Warning) => ({
      atMs,
      signs: signsSchema.parse(JSON.parse(signs)).map((id) => signInWords(service, id)),
      answer: answer === null ? null : { note: answer.note, by: answer.clinicianName, atMs: answer.atMs },
    }));
}

/** A sign that today's list no longer has stands with its id. */
function signInWords({ workshop }: Service, id: string): string {
  return workshop.warningSigns.signs.find((sign) => sign.id === id)?.words ?? id;
}

function measureNoted(
  { measure, standing }: Measured,
  { untilDay }: Days,
  { words }: Service,
): MeasureNoted[] {
  const rows = standing.filter(({ takenOn }) => takenOn <= untilDay);
  const [first, last] = [rows[0], rows.at(-1)];
  if (first === undefined || last === undefined) return [];
  const short = ({ value, takenOn }: typeof last) => ({ value: shownValue(value, measure), takenOn });
  const isOne = first === last;
  return [
    {
      name: measure.name,
      last: short(last),
      first: isOne ? null : short(first),
      change: isOne ? null : changeView(measure, { from: first, to: last }, words),
    },
  ];
}
