import { changeProgramState } from '../../src/clinic/prescribing/prescriptions.js';
import { screeningOf } from '../../src/clinic/screening/screening.js';
import { addBreak } from '../../src/store/people/careBreaks.js';
import { type Patient, prescriptionById } from '../../src/store/people/chart.js';
import type { PrescriptionState } from '../../src/store/schema/prescribingSchema.js';
import type { DirectClinic } from './directClinic.js';

/**
 * What tests of the rules do again and again in a clinic.
 *
 * @param clinic asked each time: it is opened after the tests were told apart
 */
export function acting(clinic: () => DirectClinic) {
  const programOf = async (id: string) => {
    const { store, clinicId } = clinic();
    const prescription = await store.read((db) => prescriptionById(db, clinicId, id));
    if (prescription === null) throw new RangeError('the program is there');
    return prescription;
  };
  return {
    newest: ({ id }: Patient) => clinic().store.read((db) => screeningOf(db, id)),
    /** The fields that stand against a signature. */
    pathsOf: (signed: Awaited<ReturnType<DirectClinic['signWork']>>) =>
      signed.kind === 'refused' ? signed.refusals.map(({ field }) => field) : [],
    stateOf: async (id: string) => (await programOf(id)).state,
    /** Pauses, resumes or ends a program. */
    turn: async (
      patient: Patient,
      id: string,
      state: PrescriptionState,
      { by = clinic().actor(), reason = 'Because of the holidays' } = {},
    ) =>
      changeProgramState(
        clinic().service,
        by,
        { prescription: await programOf(id), patient },
        { state, reason },
      ),
    /** Somebody who was screened, without a finding unless one is named. */
    screened: async (yes: readonly string[] = []): Promise<Patient> => {
      const patient = await clinic().person();
      await clinic().screen(patient, yes);
      return patient;
    },
    hospital: (patient: Patient, fromDay: string) => {
      const { store, clinicianId, now } = clinic();
      const stay = { kind: 'hospital', fromDay, untilDay: null, note: '' } as const;
      return store.write((db) => addBreak(db, patient.id, { ...stay, clinicianId, nowMs: now() }));
    },
    today: () => new Date(clinic().now()).toISOString().slice(0, 10),
    /** Settlements of rules, for what the direct clinic's patients answer. */
    settle: (rules: Record<string, object>) =>
      Object.fromEntries(
        Object.entries(rules).map(([id, settlement]) => [
          id,
          { exercises: [], answered: 'yes: left side, since spring', ...settlement },
        ]),
      ),
  };
}
