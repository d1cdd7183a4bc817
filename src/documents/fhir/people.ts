import type { BundleEntry, ContactPoint } from 'fhir/r4.js';
import { instant, type Names, optional, said } from './entries.js';
import type { FhirRecord, RecordedCaregiver } from './record.js';

/** The patient with their goals, the clinic, its clinicians, and who cares for the patient. */
export function peopleEntries(record: FhirRecord, names: Names): BundleEntry[] {
  const { clinic, clinicians, caregivers } = record;
  return [
    patientEntry(record, names),
    names.entry(clinic.id, {
      resourceType: 'Organization',
      name: said(clinic.name) ?? clinic.id,
      ...optional('telecom', telecomOf({ phone: clinic.phone, email: '' })),
    }),
    ...clinicians.map(({ id, name }) =>
      names.entry(id, { resourceType: 'Practitioner', name: [{ text: said(name) ?? id }] }),
    ),
    ...caregivers.map((caregiver) => caregiverEntry(caregiver, record, names)),
    ...goalEntries(record, names),
  ];
}

/** How a goal of the patient is named: goals have no id of their own. */
export function goalKeys({ patient }: FhirRecord): string[] {
  return patient.goals.flatMap((goal, index) => (said(goal) === null ? [] : [`${patient.id} ${index}`]));
}

function patientEntry({ patient, clinic }: FhirRecord, names: Names): BundleEntry {
  return names.entry(patient.id, {
    resourceType: 'Patient',
    active: true,
    name: [{ text: said(patient.name) ?? patient.id }],
    ...optional('telecom', telecomOf(patient)),
    ...optional('birthDate', patient.birthYear === null ? null : String(patient.birthYear).padStart(4, '0')),
    communication: [
      { language: { coding: [{ system: 'urn:ietf:bcp:47', code: patient.language }] }, preferred: true },
    ],
    managingOrganization: names.to('Organization', clinic.id),
  });
}

function caregiverEntry(caregiver: RecordedCaregiver, { patient }: FhirRecord, names: Names): BundleEntry {
  const { id, name, relation, createdAtMs, endedAtMs } = caregiver;
  const relationship = said(relation);
  return names.entry(id, {
    resourceType: 'RelatedPerson',
    active: endedAtMs === null,
    patient: names.to('Patient', patient.id),
    ...optional('relationship', relationship === null ? null : [{ text: relationship }]),
    name: [{ text: said(name) ?? id }],
    ...optional('telecom', telecomOf(caregiver)),
    period: {
      start: instant(createdAtMs),
      ...optional('end', endedAtMs === null ? null : instant(endedAtMs)),
    },
  });
}

function goalEntries(record: FhirRecord, names: Names): BundleEntry[] {
  const subject = names.to('Patient', record.patient.id);
  const words = record.patient.goals.flatMap((goal) => said(goal) ?? []);
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
    { system: 'phone', value: said(phone) },
    { system: 'email', value: said(email) },
  ] as const;
  return points.flatMap(({ system, value }) => (value === null ? [] : [{ system, value }]));
}
