import type { BundleEntry, ContactPoint } from 'fhir/r4.js';
import { fhirInstant, fhirText, type Names, optionalPart } from './entries.js';
import type { FhirRecord, RecordedCaregiver } from './record.js';

/** Returns the patient with their goals, the clinic, its clinicians, and the patient's caregivers. */
export function peopleEntries(record: FhirRecord, names: Names): BundleEntry[] {
  const { clinic, clinicians, caregivers } = record;
  return [
    patientEntry(record, names),
    names.entry(clinic.id, {
      resourceType: 'Organization',
      name: fhirText(clinic.name) ?? clinic.id,
      ...optionalPart('telecom', telecomOf({ phone: clinic.phone, email: '' })),
    }),
    ...clinicians.map(({ id, name }) =>
      names.entry(id, { resourceType: 'Practitioner', name: [{ text: fhirText(name) ?? id }] }),
    ),
    ...caregivers.map((caregiver) => caregiverEntry(caregiver, record, names)),
    ...goalEntries(record, names),
  ];
}

/** Returns the keys of the patient's goals, which have no ids of their own. */
export function goalKeys({ patient }: FhirRecord): string[] {
  return patient.goals.flatMap((goal, index) => (fhirText(goal) === null ? [] : [`${patient.id} ${index}`]));
}

function patientEntry({ patient, clinic }: FhirRecord, names: Names): BundleEntry {
  return names.entry(patient.id, {
    resourceType: 'Patient',
    active: true,
    name: [{ text: fhirText(patient.name) ?? patient.id }],
    ...optionalPart('telecom', telecomOf(patient)),
    ...optionalPart(
      'birthDate',
      patient.birthYear === null ? null : String(patient.birthYear).padStart(4, '0'),
    ),
    communication: [
      { language: { coding: [{ system: 'urn:ietf:bcp:47', code: patient.language }] }, preferred: true },
    ],
    managingOrganization: names.to('Organization', clinic.id),
  });
}

function caregiverEntry(caregiver: RecordedCaregiver, { patient }: FhirRecord, names: Names): BundleEntry {
  const { id, name, relation, createdAtMs, endedAtMs } = caregiver;
  const relationship = fhirText(relation);
  return names.entry(id, {
    resourceType: 'RelatedPerson',
    active: endedAtMs === null,
    patient: names.to('Patient', patient.id),
    ...optionalPart('relationship', relationship === null ? null : [{ text: relationship }]),
    name: [{ text: fhirText(name) ?? id }],
    ...optionalPart('telecom', telecomOf(caregiver)),
    period: {
      start: fhirInstant(createdAtMs),
      ...optionalPart('end', endedAtMs === null ? null : fhirInstant(endedAtMs)),
    },
  });
}

function goalEntries(record: FhirRecord, names: Names): BundleEntry[] {
  const subject = names.to('Patient', record.patient.id);
  const words = record.patient.goals.flatMap((goal) => fhirText(goal) ?? []);
  const keys = goalKeys(record);
  return words.map((text, index) =>
    names.entry(keys[index] ?? '', {
      resourceType: 'Goal',
      lifecycleStatus: 'active',
      description: { text },
      subject,
      expressedBy: subject,
    }),
  );
}

function telecomOf({ phone, email }: { phone: string; email: string }): ContactPoint[] {
  const points = [
    { system: 'phone', value: fhirText(phone) },
    { system: 'email', value: fhirText(email) },
  ] as const;
  return points.flatMap(({ system, value }) => (value === null ? [] : [{ system, value }]));
}
