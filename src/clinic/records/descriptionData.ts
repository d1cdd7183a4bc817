import type { DescriptionData } from '../../documents/programDescription.js';
import { timetableInWords } from '../../schedule/inWords.js';
import { auditActor } from '../../store/accounts/audit.js';
import { caregiversOf } from '../../store/people/caregivers.js';
import type { Patient } from '../../store/people/chart.js';
import { contactsOf } from '../../store/people/contacts.js';
import type { Actor } from '../actor.js';
import { readHistory } from '../followup/readHistory.js';
import { openChart } from '../people/chart.js';
import { refused } from '../refusals.js';
import type { NoteResources } from './noteData.js';
import { listWarningsForNote } from './noteData.js';
import { listProgramChanges, listPrograms } from './programHistory.js';

/**
 * Collects everything in the record for the description of a program; making it is recorded in the activity log.
 *
 * @param added the clinician's additions, by item
 * @throws Refused if the patient has no such program, or today's catalogue can no longer represent it
 */
export async function makeDescriptionData(
  service: NoteResources,
  actor: Actor,
  { patient, prescriptionId }: { patient: Patient; prescriptionId: string },
  added: DescriptionData['added'],
): Promise<DescriptionData> {
  const { store, words } = service;
  const { clinicId, clinicName } = actor.clinician;
  const programs = await store.read((db) => listPrograms(db, { clinicId, patientId: patient.id }));
  const program = programs.find(({ prescription }) => prescription.id === prescriptionId);
  const version = program?.versions.at(-1);
  const prescription = version === undefined ? null : service.versions.kept(prescriptionId, version).shown;
  const history = (await readHistory(service, openChart(store, clinicId, patient))).programs.find(
    (each) => each.prescriptionId === prescriptionId,
  );
  if (program === undefined || version === undefined || prescription === null || history === undefined) {
    throw refused('program-not-readable');
  }
  const caregivers = await store.read((db) => caregiversOf(db, patient.id));
  const contacts = await store.read((db) => contactsOf(db, clinicId, { patientId: patient.id }));
  const channels = contacts.filter(({ endedAtMs }) => endedAtMs === null).map(({ channel }) => channel);
  const warnings = await listWarningsForNote(service, patient.id);
  await store.write((db) =>
    auditActor(db, actor, { patientId: patient.id, subject: prescriptionId, action: 'paper-made' }),
  );
  return {
    clinicName,
    personName: patient.name,
    title: program.prescription.title,
    history,
    zone: patient.zone,
    prescription,
    version: { number: version.number, signedAtMs: version.signedAtMs, by: version.signedByName },
    prescribers: [...new Set(program.versions.map(({ signedByName }) => signedByName))],
    timetable: timetableInWords(prescription, words.schedule),
    changes: listProgramChanges(service, program),
    hasCaregivers: caregivers.length > 0,
    reminders: [...new Set(channels)].map((channel) => words.channels[channel]).join(', '),
    harms: warnings.flatMap(({ signs }) => signs),
    added,
  };
}
