import type { CodeableConcept, Coding, Quantity } from 'fhir/r4.js';

const loinc = 'http://loinc.org';
const ucum = 'http://unitsofmeasure.org';
const categorySystem = 'http://terminology.hl7.org/CodeSystem/observation-category';

/**
 * Self-reported pain from 0 to 10: "Pain severity - 0-10 verbal numeric rating [Score] - Reported" (LOINC; used this
 * way in the examples of HL7 Europe's patient summary).
 */
export const painCoding: Coding = {
  system: loinc,
  code: '72514-3',
  display: 'Pain severity - 0-10 verbal numeric rating [Score] - Reported',
};

/** Measures of the catalogue that have a LOINC code; all others are given as text. */
const measureCodings: Readonly<Record<string, Coding>> = {
  // Source: FHIR R4, profile "bodyheight".
  height: { system: loinc, code: '8302-2', display: 'Body height' },
  // Source: LOINC's page for the code, which names the CDC STEADI test.
  'timed-up-and-go': { system: loinc, code: '89422-0' },
  pain: painCoding,
};

/** Returns a measure's code: its LOINC coding if it has one, and its name as text. */
export function measureCode(measureId: string, name: string): CodeableConcept {
  const coding = measureCodings[measureId];
  return { ...(coding === undefined ? {} : { coding: [coding] }), text: name };
}

/** Returns an observation category. FHIR R4 requires body height to be a vital sign; all others are survey or exam. */
export function categoryOf(kind: 'survey' | 'exam' | 'vital-signs'): CodeableConcept[] {
  return [{ coding: [{ system: categorySystem, code: kind }] }];
}

/** Returns the observation category of a measure. */
export function categoryOfMeasure(measureId: string): CodeableConcept[] {
  if (measureId === 'height') return categoryOf('vital-signs');
  return categoryOf(measureId === 'pain' ? 'survey' : 'exam');
}

/** Units that we write the same way as UCUM. */
const ucumUnits: ReadonlySet<string> = new Set(['cm', 's']);

/** Returns a value with its unit, coded where UCUM has the unit. */
export function quantity(value: number, unit: string): Quantity {
  if (unit === '') return { value };
  return ucumUnits.has(unit) ? { value, unit, system: ucum, code: unit } : { value, unit };
}
