import type { AdviceAnswered, ChangeMade } from '../../documents/noteProgram.js';
import { readKeptAdvice } from '../../followup/keptAdvice.js';
import { differences } from '../../prescription/differences.js';
import { ruleNames } from '../../prescription/programFindings.js';
import type { Db } from '../../store/engine/openStore.js';
import { adviceAnswersOf } from '../../store/followup/history.js';
import {
  type Prescription,
  prescriptionsOf,
  type SignedVersion,
  versionsOf,
} from '../../store/people/chart.js';
import { describeStoredAdvice } from '../followup/storedAdvice.js';
import type { Resources } from '../resources/resources.js';

/** A program with its versions, oldest first. */
export type ProgramKept = { prescription: Prescription; versions: readonly SignedVersion[] };

/** All programs of a patient, newest first. */
export async function listPrograms(
  db: Db,
  of: { clinicId: string; patientId: string },
): Promise<ProgramKept[]> {
  const programs: ProgramKept[] = [];
  for (const prescription of await prescriptionsOf(db, of.clinicId, of.patientId)) {
    programs.push({ prescription, versions: (await versionsOf(db, prescription.id)).reverse() });
  }
  return programs;
}

/** The versions signed after the first one, with their changes, oldest first. */
export function listProgramChanges(
  service: Pick<Resources, 'workshop' | 'versions'>,
  { prescription, versions }: ProgramKept,
): ChangeMade[] {
  const { id } = prescription;
  return versions.slice(1).map((version, index) => {
    const former = versions[index];
    const before = former === undefined ? null : service.versions.kept(id, former).shown;
    const after = service.versions.kept(id, version).shown;
    return {
      prescriptionId: id,
      number: version.number,
      signedAtMs: version.signedAtMs,
      by: version.signedByName,
      reason: version.reason,
      differences:
        before === null || after === null ? [] : differences(before, after, ruleNames(service.workshop)),
    };
  });
}

/** Answers to advice, oldest first. */
export async function listAnsweredAdvice(
  db: Db,
  service: Pick<Resources, 'workshop' | 'words'>,
  patientId: string,
): Promise<AdviceAnswered[]> {
  const { words } = service;
  const answers = await adviceAnswersOf(db, patientId);
  return answers.reverse().map((answer) => ({
    prescriptionId: answer.prescriptionId,
    atMs: answer.atMs,
    ...describeStoredAdvice(readKeptAdvice(answer.advice), service),
    answer: words.advice.answers[answer.answer],
    by: answer.clinicianName,
    reason: answer.reason,
  }));
}
