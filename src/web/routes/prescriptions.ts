import { inputError } from '../../errors/stillcountError.js';
import { readPrescription } from '../../prescription/content.js';
import { differences } from '../../prescription/differences.js';
import { record } from '../../store/audit.js';
import type { Db } from '../../store/openStore.js';
import { type Patient, patientById } from '../../store/patients.js';
import {
  changeState,
  type Prescription,
  prescriptionById,
  stateChangesOf,
  versionsOf,
} from '../../store/prescriptions.js';
import { prescriptionStates } from '../../store/schema.js';
import { field } from '../forms/fields.js';
import { timeInWords } from '../forms/words.js';
import { type MemberVisit, type Routes, requireMayWrite } from '../routing.js';
import type { Service } from '../service.js';

export type OwnPrescription = { prescription: Prescription; patient: Patient };

const stateWords = { active: 'Running', paused: 'Paused', ended: 'Ended' };

/** A prescription's own page: its versions with what changed, and pausing, resuming or ending it. */
export function addPrescriptionPages(routes: Routes, service: Service): Routes {
  const { store, workshop } = service;
  return routes
    .member('get', '/prescriptions/:id', async (visit) => {
      const { prescription, patient } = await readOwnPrescription(service, visit);
      const versions = await store.read((db) => versionsOf(db, prescription.id));
      const changes = await store.read((db) => stateChangesOf(db, prescription.id));
      const zone = visit.clinician.clinicZone;
      const read = versions.map(({ content }) =>
        readPrescription(JSON.parse(content), prescription.title, workshop.catalogues),
      );
      return {
        kind: 'page',
        page: 'prescription',
        title: prescription.title,
        view: {
          prescription,
          patient,
          state: stateWords[prescription.state],
          isActive: prescription.state === 'active',
          isPaused: prescription.state === 'paused',
          hasEnded: prescription.state === 'ended',
          mayWrite: visit.clinician.role !== 'read-only',
          hasStateChanges: changes.length > 0,
          stateChanges: changes.map((change) => ({
            what: { active: 'Resumed', paused: 'Paused', ended: 'Ended' }[change.state],
            by: change.clinicianName,
            when: timeInWords(change.atMs, zone),
            reason: change.reason,
          })),
          versions: versions.map((version, index) => {
            const [now, before] = [read[index], read[index + 1]];
            const changed = now === undefined || before === undefined ? [] : differences(before, now);
            return {
              number: version.number,
              by: version.signedByName,
              when: timeInWords(version.signedAtMs, zone),
              reason: version.reason,
              differences: changed,
              isFirst: before === undefined,
              isSame: before !== undefined && changed.length === 0,
            };
          }),
        },
      };
    })
    .member('post', '/prescriptions/:id/state', async (visit) => {
      requireMayWrite(visit);
      const { prescription, patient } = await readOwnPrescription(service, visit);
      const state = prescriptionStates.find((each) => each === field(visit.fields, 'state'));
      const reason = field(visit.fields, 'reason').slice(0, 500);
      if (state === undefined || reason === '') {
        throw inputError({ path: 'why', message: 'please write one sentence for the record' });
      }
      const { clinicId, id: clinicianId } = visit.clinician;
      const step = { prescriptionId: prescription.id, state, clinicianId, reason, nowMs: visit.nowMs };
      const changed = await store.write(async (db) => {
        const done = await changeState(db, step);
        const entry = { clinicId, clinicianId, patientId: patient.id, subject: prescription.id };
        if (done) await record(db, { ...entry, action: `prescription-${state}`, atMs: visit.nowMs });
        return done;
      });
      if (!changed)
        throw inputError({
          message: `this program is ${stateWords[prescription.state].toLowerCase()} already`,
        });
      return { kind: 'redirect', to: `/prescriptions/${prescription.id}` };
    });
}

/**
 * The prescription that an address names, with its person; that it was read is written down first.
 *
 * @throws StillcountError kind `input` when the visitor's clinic has none
 */
export async function readOwnPrescription(service: Service, visit: MemberVisit): Promise<OwnPrescription> {
  const { clinicId, id: clinicianId } = visit.clinician;
  return service.store.write(async (db) => {
    const found = await ownPrescription(db, visit);
    const entry = { clinicId, clinicianId, patientId: found.patient.id, subject: found.prescription.id };
    await record(db, { ...entry, action: 'prescription-read', atMs: visit.nowMs });
    return found;
  });
}

/** The same while work on an open page goes on: that it was read is on the trail already. */
export function prescriptionAtWork(service: Service, visit: MemberVisit): Promise<OwnPrescription> {
  return service.store.read((db) => ownPrescription(db, visit));
}

async function ownPrescription(db: Db, visit: MemberVisit): Promise<OwnPrescription> {
  const { clinicId } = visit.clinician;
  const prescription = await prescriptionById(db, clinicId, visit.params.id ?? '');
  const patient = prescription === null ? null : await patientById(db, clinicId, prescription.patientId);
  if (prescription !== null && patient !== null) return { prescription, patient };
  throw inputError({ path: 'not-found', message: 'there is no such program here' });
}
