import type { Annotation, BundleEntry, CarePlan } from 'fhir/r4.js';
import { tallyOf } from '../../followup/adherence.js';
import { fhirInstant, fhirText, type Names, optionalPart } from './entries.js';
import { goalKeys } from './people.js';
import type { FhirRecord, RecordedExercise, RecordedProgram, RecordedVersion } from './record.js';
import { timingOf } from './timing.js';
import type { FhirWords } from './words.js';

/** Returns the key of a program version. */
export function versionKey(prescriptionId: string, number: number): string {
  return `${prescriptionId} ${number}`;
}

/**
 * Returns every version of every program as a care plan with one request per exercise, with its signer and the share of
 * its sessions that were done. The newest version is active; the others are marked as replaced by it. For a damaged
 * version the content is unknown.
 */
export function planEntries(record: FhirRecord, names: Names, words: FhirWords): BundleEntry[] {
  return record.programs.flatMap((program) => [
    ...program.versions.flatMap((version) => [
      planEntry(record, { program, version }, names, words),
      ...version.exercises.map((exercise, index) =>
        requestEntry(record, { program, version, exercise, index }, names),
      ),
      signatureEntry(record, { program, version }, names, words),
      ...adherenceEntries(record, { program, version }, names, words),
    ]),
    ...program.damaged.map((number) => damagedEntry(record, { program, number }, names, words)),
  ]);
}

/**
 * Returns the entry for a damaged version, which states that it existed and that the stored content is not what was
 * signed.
 */
function damagedEntry(
  { patient }: FhirRecord,
  { program, number }: { program: RecordedProgram; number: number },
  names: Names,
  words: FhirWords,
): BundleEntry {
  return names.entry(versionKey(program.id, number), {
    resourceType: 'CarePlan',
    status: 'unknown',
    intent: 'order',
    category: [{ text: words.programCategory }],
    ...optionalPart('title', fhirText(program.title)),
    description: words.damaged,
    subject: names.to('Patient', patient.id),
  });
}

type Planned = { program: RecordedProgram; version: RecordedVersion };

/** Returns the current status of a plan and its requests. */
function statusOf({ program, version }: Planned): 'active' | 'on-hold' | 'completed' | 'revoked' {
  const newest = Math.max(...program.damaged, ...program.versions.map(({ number }) => number));
  if (version.number !== newest) return 'revoked';
  return ({ active: 'active', paused: 'on-hold', ended: 'completed' } as const)[program.state];
}

function endOf({ program, version }: Planned): number | null {
  const next = program.versions.find(({ number }) => number > version.number);
  return next?.signedAtMs ?? program.endedAtMs;
}

function planEntry(record: FhirRecord, planned: Planned, names: Names, words: FhirWords): BundleEntry {
  const { program, version } = planned;
  const key = versionKey(program.id, version.number);
  const before = program.versions.filter(({ number }) => number < version.number).at(-1);
  const endedAtMs = endOf(planned);
  const plan: CarePlan = {
    resourceType: 'CarePlan',
    status: statusOf(planned),
    intent: 'order',
    category: [{ text: words.programCategory }],
    ...optionalPart('title', fhirText(version.title)),
    ...optionalPart('description', fhirText(version.when)),
    subject: names.to('Patient', record.patient.id),
    ...optionalPart(
      'replaces',
      before === undefined ? null : [names.to('CarePlan', versionKey(program.id, before.number))],
    ),
    period: {
      start: fhirInstant(version.signedAtMs),
      ...optionalPart('end', endedAtMs === null ? null : fhirInstant(endedAtMs)),
    },
    created: fhirInstant(version.signedAtMs),
    author: names.to('Practitioner', version.signedBy),
    ...optionalPart(
      'goal',
      goalKeys(record).map((goal) => names.to('Goal', goal)),
    ),
    ...optionalPart(
      'activity',
      version.exercises.map((_exercise, index) => ({
        reference: names.to('ServiceRequest', `${key} ${index}`),
      })),
    ),
    ...optionalPart('note', noteOf(version.reason)),
  };
  return names.entry(key, plan);
}

function requestEntry(
  { patient }: FhirRecord,
  { exercise, index, ...planned }: Planned & { exercise: RecordedExercise; index: number },
  names: Names,
): BundleEntry {
  const { program, version } = planned;
  const key = versionKey(program.id, version.number);
  const parts = [...exercise.dose, ...(exercise.side === null ? [] : [exercise.side])];
  const details = parts.flatMap((part) => fhirText(part) ?? []);
  return names.entry(`${key} ${index}`, {
    resourceType: 'ServiceRequest',
    basedOn: [names.to('CarePlan', key)],
    status: statusOf(planned),
    intent: 'order',
    code: { text: fhirText(exercise.name) ?? key },
    // R4 has no elements for sets, repetitions and holds, so each is given as text.
    ...optionalPart(
      'orderDetail',
      details.map((text) => ({ text })),
    ),
    subject: names.to('Patient', patient.id),
    occurrenceTiming: timingOf(version.timetable, exercise.durationSeconds),
    authoredOn: fhirInstant(version.signedAtMs),
    requester: names.to('Practitioner', version.signedBy),
    ...optionalPart('note', noteOf(exercise.note ?? '')),
    ...optionalPart('patientInstruction', fhirText(details.join(', '))),
  });
}

function noteOf(text: string): Annotation[] {
  const note = fhirText(text);
  return note === null ? [] : [{ text: note }];
}

function signatureEntry(
  { clinic }: FhirRecord,
  { program, version }: Planned,
  names: Names,
  words: FhirWords,
): BundleEntry {
  const key = versionKey(program.id, version.number);
  const requests = version.exercises.map((_exercise, index) => names.to('ServiceRequest', `${key} ${index}`));
  const reason = fhirText(version.reason);
  return names.entry(key, {
    resourceType: 'Provenance',
    target: [names.to('CarePlan', key), ...requests],
    occurredDateTime: fhirInstant(version.signedAtMs),
    recorded: fhirInstant(version.signedAtMs),
    ...optionalPart('reason', reason === null ? null : [{ text: reason }]),
    activity: { text: words.signed },
    agent: [
      {
        who: names.to('Practitioner', version.signedBy),
        onBehalfOf: names.to('Organization', clinic.id),
      },
    ],
  });
}

/** Returns how many of a version's scheduled sessions were done; nothing before the first is due. */
function adherenceEntries(
  { patient, clinic }: FhirRecord,
  { program, version }: Planned,
  names: Names,
  words: FhirWords,
): BundleEntry[] {
  const outcomes = program.outcomes.filter(({ versionNumber }) => versionNumber === version.number);
  const days = outcomes.map(({ day }) => day).sort();
  const [first, last] = [days[0], days.at(-1)];
  if (first === undefined || last === undefined) return [];
  const tally = tallyOf(outcomes);
  const key = versionKey(program.id, version.number);
  const counts = ['wanted', 'easier', 'partly', 'missed', 'excused', 'unwell', 'beyond'] as const;
  return [
    names.entry(`${key} sessions-done`, {
      resourceType: 'Observation',
      basedOn: [names.to('CarePlan', key)],
      status: endOf({ program, version }) === null ? 'preliminary' : 'final',
      code: { text: words.sessionsDone },
      subject: names.to('Patient', patient.id),
      effectivePeriod: { start: first, end: last },
      performer: [names.to('Organization', clinic.id)],
      valueInteger: tally.done,
      component: counts.map((count) => ({ code: { text: words[count] }, valueInteger: tally[count] })),
    }),
  ];
}
