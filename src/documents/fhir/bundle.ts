import type { Bundle } from 'fhir/r4.js';
import { checkInEntries } from './checkIns.js';
import { fhirInstant, Names, type UuidOf } from './entries.js';
import { measureEntries } from './measures.js';
import { peopleEntries } from './people.js';
import { planEntries } from './plans.js';
import type { FhirRecord } from './record.js';
import { warningEntries } from './warnings.js';
import type { FhirWords } from './words.js';

/**
 * One patient's record as a FHIR R4 bundle. It is a collection and no document: no one has put it together and signed
 * it as a whole, as the Composition of a document would say. The same record makes the same bundle, every reference
 * leads to a resource in it, and it needs no extension and no code that others do not have.
 */
export function fhirBundle(record: FhirRecord, words: FhirWords, uuidOf: UuidOf): Bundle {
  const names = new Names(uuidOf);
  return {
    resourceType: 'Bundle',
    type: 'collection',
    timestamp: fhirInstant(record.madeAtMs),
    entry: [
      ...peopleEntries(record, names),
      ...planEntries(record, names, words),
      ...checkInEntries(record, names, words),
      ...measureEntries(record, names, words),
      ...warningEntries(record, names, words),
    ],
  };
}
