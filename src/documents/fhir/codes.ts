import type { CodeableConcept, Coding, Quantity } from 'fhir/r4.js';

const loinc = 'http://loinc.org';
const ucum = 'http://unitsofmeasure.org';
const categorySystem = 'http://terminology.hl7.org/CodeSystem/observation-category';

/**
 * Pain from 0 to 10 as someone says it: "Pain severity - 0-10 verbal numeric rating [Score] - Reported" (LOINC; so used
 * in the examples of HL7 Europe's patient summary).
 */
export const painCoding: Coding = {
  system: loinc,
  code: '72514-3',
  display: 'Pain severity - 0-10 verbal numeric rating [Score] - Reported',
};

/** Measures of the catalogue that LOINC has a code for; everything else is said in words. */
const measureCodings: Readonly<Record<string, Coding>> = {
  // FHIR R4 itself, profile "bodyheight".
  height: { system: loinc, code: '8302-2', display: 'Body height' },
  // LOINC's page of the code, which names the test of CDC STEADI.
  'timed-up-and-go': { system: loinc, code: '89422-0' },
  pain: painCoding,
};

export function measureCode(measureId: string, name: string): CodeableConcept {
  const coding = measureCodings[measureId];
  return { ...(coding === undefined ? {} : { coding: [coding] }), text: name };
}

/** FHIR R4 asks body height to be among the vital signs; the others are of a survey or an examination. */
export function categoryOf(kind: 'survey' | 'exam' | 'vital-signs'): CodeableConcept[] {
  return [{ coding: [{ system: categorySystem, code: kind }] }];
}

export function categoryOfMeasure(measureId: string): CodeableConcept[] {
  if (measureId === 'height') return categoryOf('vital-signs');
  return categoryOf(measureId === 'pain' ? 'survey' : 'exam');
}

/** Units of ours that UCUM writes as we do. */
const ucumUnits: ReadonlySet<string> = new Set(['cm', 's']);

/** A value with its unit, coded where UCUM has it. */
export function quantity(value: number, unit: string): Quantity {
  if (unit === '') return { value };
  return ucumUnits.has(unit) ? { value, unit, system: ucum, code: unit } : { value, unit };
}
