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
 * Returns one patient's record as a FHIR R4 bundle. Its type is collection, not document, because nobody has assembled
 * and signed it as a whole, as a document's Composition would state. The same record always gives the same bundle,
 * every reference points to a resource in it, and it uses no extensions or private codes.
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
