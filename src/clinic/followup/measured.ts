import type { Taken } from '../../followup/change.js';
import type { Measure } from '../../followup/measures.js';
import { measureOfOwn } from '../../followup/ownMeasures.js';
import { type Applying, agesOn, applyingTo } from '../../followup/reference.js';
import type { Db } from '../../store/engine/openStore.js';
import { type MeasureTaken, measuresTakenOf, ownMeasuresOf } from '../../store/followup/measures.js';
import type { Patient } from '../../store/people/chart.js';
import type { Resources } from '../resources/resources.js';

/** A measure with all values recorded for one patient. */
export type Measured = {
  measure: Measure;
  kind: 'catalogue' | 'clinic' | 'activity' | 'unknown';
  /** Whether a value can be entered now. */
  isOpen: boolean;
  /** By day, oldest first, including withdrawn values. */
  rows: readonly MeasureTaken[];
  /** The same without withdrawn values. */
  standing: readonly (MeasureTaken & Taken)[];
  /** Considerations for the last value; empty if there is none. */
  considerations: readonly Applying[];
};

/** The position in the catalogue of measures. */
export type MeasuresOf = { workshop: Pick<Resources['workshop'], 'measures'> };

/**
 * Every measure that can be used for a patient, or ever was: catalogue, clinic, activities.
 *
 * @param of.untilDay values taken later are ignored; without it, all values count
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
  // A measure that is no longer in the catalogue stays readable under its id.
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
