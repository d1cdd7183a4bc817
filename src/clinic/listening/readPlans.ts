import { timetableOf } from '../../prescription/content.js';
import type { PlanHistory } from '../../schedule/calendar.js';
import { notPlayableStretches } from '../../store/attention/notPlayed.js';
import type { Db } from '../../store/engine/openStore.js';
import { type Warning, warningsOf } from '../../store/listening/listeningRecords.js';
import { breakHistoryOf } from '../../store/people/careBreaks.js';
import { type Patient, patientById } from '../../store/people/patients.js';
import {
  type Prescription,
  prescriptionsOf,
  type SignedVersion,
  stateChangesOf,
  versionsOf,
} from '../../store/prescribing/prescriptions.js';

const mostWarnings = 10_000;

/** All that ever bore on when somebody's programs are to be done. */
export type Plans = {
  patient: Patient;
  /** Newest first, each with its versions, newest first too. */
  programs: { prescription: Prescription; versions: SignedVersion[]; history: PlanHistory }[];
  warnings: Warning[];
};

/** @throws RangeError when the clinic has no such patient */
export async function readPlans(db: Db, clinicId: string, patientId: string): Promise<Plans> {
  const patient = await patientById(db, clinicId, patientId);
  if (patient === null) throw new RangeError('plans are of somebody whom the clinic has');
  const breaks = await breakHistoryOf(db, patientId);
  const warnings = await warningsOf(db, patientId, mostWarnings);
  const notPlayable = await notPlayableStretches(db, patientId);
  const holds = warnings.map(({ receivedAtMs, answer }) => ({
    fromMs: receivedAtMs,
    untilMs: answer?.atMs ?? null,
  }));
  const programs: Plans['programs'] = [];
  for (const prescription of await prescriptionsOf(db, clinicId, patientId)) {
    const versions = await versionsOf(db, prescription.id);
    const history: PlanHistory = {
      prescriptionId: prescription.id,
      zone: patient.zone,
      zoneRevision: patient.revision,
      versions: versions.map(({ number, signedAtMs, content }) => ({
        number,
        signedAtMs,
        timetable: timetableOf(content),
      })),
      states: await stateChangesOf(db, prescription.id),
      breaks,
      holds: [...holds, ...(notPlayable.get(prescription.id) ?? [])],
    };
    programs.push({ prescription, versions, history });
  }
  return { patient, programs, warnings };
}
