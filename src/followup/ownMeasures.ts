import type { Measure, Measures } from './measures.js';

/** A clinic measure, or an activity that a patient chose, as stored. */
export type OwnMeasureDetails = {
  id: string;
  /** Null for one that belongs to the whole clinic. */
  patientId: string | null;
  name: string;
  unit: string;
  least: number;
  most: number;
  better: Measure['better'];
};

/** A measure that is not in the catalogue; a clinic measure is compared only with itself. */
export function measureOfOwn(own: OwnMeasureDetails, { activity }: Measures): Measure {
  const { id, name } = own;
  if (own.patientId !== null) return { ...activity, id, name };
  const range = { least: own.least, most: own.most };
  return {
    ...{ id, name, unit: own.unit, otherUnits: [], decimals: 2, better: own.better, protocol: null },
    ...{ plausible: range, usual: range, realChange: { kind: 'not-published' }, considerations: [] },
  };
}
