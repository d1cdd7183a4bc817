import type { Annotation, BundleEntry } from 'fhir/r4.js';
import { categoryOfMeasure, measureCode, quantity } from './codes.js';
import { fhirInstant, fhirText, type Names, optionalPart } from './entries.js';
import type { FhirRecord, RecordedMeasure } from './record.js';
import type { FhirWords } from './words.js';

/** Returns the clinicians' measurements. Withdrawn ones stay, marked as entered in error. */
export function measureEntries(record: FhirRecord, names: Names, words: FhirWords): BundleEntry[] {
  return record.measures.map((measure) =>
    names.entry(measure.id, {
      resourceType: 'Observation',
      status: measure.withdrawnReason === null ? 'final' : 'entered-in-error',
      category: categoryOfMeasure(measure.measureId),
      code: measureCode(measure.measureId, fhirText(measure.name) ?? measure.measureId),
      subject: names.to('Patient', record.patient.id),
      effectiveDateTime: measure.takenOn,
      issued: fhirInstant(measure.atMs),
      performer: [names.to('Practitioner', measure.clinicianId)],
      valueQuantity: quantity(measure.value, fhirText(measure.unit) ?? ''),
      ...optionalPart('note', notesOf(measure, words)),
    }),
  );
}

function notesOf({ note, withdrawnReason }: RecordedMeasure, words: FhirWords): Annotation[] {
  const struckOut = withdrawnReason === null ? null : `${words.withdrawn}: ${withdrawnReason}`;
  return [note, struckOut ?? ''].flatMap((text) => {
    const allowed = fhirText(text);
    return allowed === null ? [] : [{ text: allowed }];
  });
}
