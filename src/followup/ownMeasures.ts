import type { Measure, Measures } from './measures.js';

/** What a clinic records about a measure of its own, or an activity that a patient chose. */
export type OwnMeasureDetails = {
  id: string;
  /** Null for one of the whole clinic. */
  patientId: string | null;
  name: string;
  unit: string;
  least: number;
  most: number;
  better: Measure['better'];
};

/** A measure that is not in the catalogue; one of the clinic's own is compared with itself only. */
export function measureOfOwn(own: OwnMeasureDetails, { activity }: Measures): Measure {
  const { id, name } = own;
  if (own.patientId !== null) return { ...activity, id, name };
  const range = { least: own.least, most: own.most };
  return {
    ...{ id, name, unit: own.unit, otherUnits: [], decimals: 2, better: own.better, protocol: null },
    ...{ plausible: range, usual: range, realChange: { kind: 'not-published' }, considerations: [] },
  };
}
