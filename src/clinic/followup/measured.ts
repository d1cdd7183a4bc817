import type { Taken } from '../../followup/change.js';
import type { Measure } from '../../followup/measures.js';
import { measureOfOwn } from '../../followup/ownMeasures.js';
import { type Applying, agesOn, applyingTo } from '../../followup/reference.js';
import type { Db } from '../../store/engine/openStore.js';
import { type MeasureTaken, measuresTakenOf, ownMeasuresOf } from '../../store/followup/measures.js';
import type { Patient } from '../../store/people/patients.js';
import type { Resources } from '../resources/resources.js';

/** A measure with everything that was written down for one patient. */
export type Measured = {
  measure: Measure;
  kind: 'catalogue' | 'clinic' | 'activity' | 'unknown';
  /** Whether a value may be entered now. */
  isOpen: boolean;
  /** By day, oldest first, also what was withdrawn. */
  rows: readonly MeasureTaken[];
  /** The same without what was withdrawn. */
  standing: readonly (MeasureTaken & Taken)[];
  /** What to think of at the last value; empty without one. */
  considerations: readonly Applying[];
};

/** Where the catalogue of measures stands. */
export type MeasuresOf = { workshop: Pick<Resources['workshop'], 'measures'> };

/**
 * Every measure that a patient may be measured by, and every one that they ever were: catalogue, clinic, activities.
 *
 * @param of.untilDay nothing that was taken later counts; without it, everything does
 */
export async function readPatientMeasures(
  db: Db,
  { workshop }: MeasuresOf,
  of: { clinicId: string; patient: Pick<Patient, 'id' | 'birthYear'>; untilDay?: string },
): Promise<Measured[]> {
  const { clinicId, patient, untilDay } = of;
  const { measures: catalogue } = workshop;
  const taken = await measuresTakenOf(db, patient.id);
  const rows = taken.filter(({ takenOn }) => untilDay === undefined || takenOn <= untilDay);
  const own = await ownMeasuresOf(db, { clinicId, patientId: patient.id });
  const known: Pick<Measured, 'measure' | 'kind' | 'isOpen'>[] = [
    ...catalogue.measures.map((measure) => ({ measure, kind: 'catalogue' as const, isOpen: true })),
    ...own.map((each) => ({
      measure: measureOfOwn(each, catalogue),
      kind: each.patientId === null ? ('clinic' as const) : ('activity' as const),
      isOpen: each.endedAtMs === null,
    })),
  ];
  const ids = new Set(known.map(({ measure }) => measure.id));
  // A measure that the catalogue does not have any more stays readable under its id.
  const former = [...new Set(rows.map(({ measureId }) => measureId))].filter((id) => !ids.has(id));
  const all = [
    ...known,
    ...former.map((id) => ({ measure: formerMeasure(id), kind: 'unknown' as const, isOpen: false })),
  ];
  const lastOf = (id: string, day: string | null) =>
    rows.findLast(
      ({ measureId, withdrawn, takenOn }) =>
        measureId === id && withdrawn === null && (day === null || takenOn === day),
    )?.value ?? null;
  return all.map((each) => {
    const ofIt = rows.filter(({ measureId }) => measureId === each.measure.id);
    const standing = ofIt.filter(({ withdrawn }) => withdrawn === null);
    const last = standing.at(-1);
    const possibleAges =
      patient.birthYear === null || last === undefined ? null : agesOn(patient.birthYear, last.takenOn);
    const values = standing.map(({ value }) => value);
    return {
      ...each,
      rows: ofIt,
      standing,
      considerations: applyingTo(each.measure, {
        ...{ values, possibleAges },
        lastOf: (id, sameDay) => lastOf(id, sameDay ? (last?.takenOn ?? '') : null),
      }),
    };
  });
}

function formerMeasure(id: string): Measure {
  const anyNumber = { least: Number.MIN_SAFE_INTEGER, most: Number.MAX_SAFE_INTEGER };
  return {
    ...{ id, name: id, unit: '', otherUnits: [], decimals: 2, better: 'neither', protocol: null },
    ...{ plausible: anyNumber, usual: anyNumber, realChange: { kind: 'not-published' }, considerations: [] },
  };
}
