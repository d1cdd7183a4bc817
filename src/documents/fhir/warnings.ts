import type { BundleEntry, Communication } from 'fhir/r4.js';
import { planOf, reportedBy, sourceOf } from './checkIns.js';
import { fhirInstant, fhirText, type Names, optionalPart } from './entries.js';
import type { FhirRecord, RecordedWarning } from './record.js';
import type { FhirWords } from './words.js';

/** FHIR's most urgent priority is for signs that call for the emergency number. */
const priorities = { emergency: 'stat', 'call-today': 'asap', 'stop-and-rest': 'urgent' } as const;

/**
 * Returns each warning sign as a communication from the listener to the clinic, with the clinician's response. Until a
 * clinician has responded, a flag accompanies it, so that the sign does not pass silently wherever the record goes.
 */
export function warningEntries(record: FhirRecord, names: Names, words: FhirWords): BundleEntry[] {
  return record.warnings.flatMap((warning) => [
    messageEntry(record, warning, names, words),
    names.entry(`warning ${warning.id}`, {
      resourceType: 'Provenance',
      target: [names.to('Communication', warning.id)],
      ...reportedBy(record, warning, names, words),
    }),
    ...(warning.answer === null ? [flagEntry(record, warning, names, words)] : []),
  ]);
}

function messageEntry(
  record: FhirRecord,
  warning: RecordedWarning,
  names: Names,
  words: FhirWords,
): BundleEntry {
  const { urgency, atMs, receivedAtMs, answer } = warning;
  const note = answer === null ? null : fhirText(answer.note);
  const message: Communication = {
    resourceType: 'Communication',
    ...optionalPart('basedOn', planOf(record, warning, names)),
    status: 'completed',
    category: [{ text: words.warning }],
    priority: urgency === null ? 'asap' : priorities[urgency],
    subject: names.to('Patient', record.patient.id),
    sent: fhirInstant(atMs),
    received: fhirInstant(receivedAtMs),
    recipient: [names.to('Organization', record.clinic.id)],
    sender: sourceOf(record, warning, names),
    payload: saidSigns(warning, words).map((contentString) => ({ contentString })),
    ...optionalPart(
      'note',
      answer === null || note === null
        ? null
        : [
            {
              authorReference: names.to('Practitioner', answer.clinicianId),
              time: fhirInstant(answer.atMs),
              text: note,
            },
          ],
    ),
  };
  return names.entry(warning.id, message);
}

function flagEntry(
  { patient, clinic }: FhirRecord,
  warning: RecordedWarning,
  names: Names,
  words: FhirWords,
): BundleEntry {
  return names.entry(warning.id, {
    resourceType: 'Flag',
    status: 'active',
    category: [{ text: words.warning }],
    code: { text: `${words.openWarning}: ${saidSigns(warning, words).join('; ')}` },
    subject: names.to('Patient', patient.id),
    period: { start: fhirInstant(warning.receivedAtMs) },
    author: names.to('Organization', clinic.id),
  });
}

function saidSigns({ signs }: RecordedWarning, words: FhirWords): string[] {
  const known = signs.flatMap((sign) => fhirText(sign) ?? []);
  return known.length === 0 ? [words.someWarning] : known;
}
