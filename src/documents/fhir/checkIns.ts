import type {
  BundleEntry,
  ProvenanceAgent,
  Questionnaire,
  QuestionnaireItem,
  QuestionnaireResponseItem,
  QuestionnaireResponseItemAnswer,
  Reference,
} from 'fhir/r4.js';
import { amountsDone, type CheckInAnswers } from '../../listening/report.js';
import { categoryOf, painCoding } from './codes.js';
import { fhirInstant, fhirText, type Names, optionalPart } from './entries.js';
import { versionKey } from './plans.js';
import type { FhirRecord, RecordedCheckIn } from './record.js';
import type { FhirWords } from './words.js';

const questionnaireKey = 'check-in';
const numberNames = ['painBefore', 'painAfter', 'effort'] as const;
const questionNames = ['done', ...numberNames, 'signs', 'note'] as const;

/** Returns the check-in questionnaire, each response to it, the numeric answers as observations, and their sources. */
export function checkInEntries(record: FhirRecord, names: Names, words: FhirWords): BundleEntry[] {
  return [
    names.entry(questionnaireKey, questionnaireOf(record, names, words)),
    ...record.checkIns.flatMap((checkIn) => entriesOf(record, checkIn, names, words)),
  ];
}

function questionnaireOf(record: FhirRecord, names: Names, words: FhirWords): Questionnaire {
  const { questions } = words;
  const scale = (linkId: (typeof numberNames)[number]): QuestionnaireItem => ({
    linkId,
    text: questions[linkId],
    type: 'integer',
  });
  const choice = (options: readonly string[]) => options.map((valueString) => ({ valueString }));
  return {
    resourceType: 'Questionnaire',
    url: canonicalOf(names),
    title: words.checkIn,
    status: 'active',
    subjectType: ['Patient'],
    item: [
      {
        linkId: 'done',
        text: questions.done,
        type: 'choice',
        answerOption: choice(amountsDone.map((amount) => words.amountsDone[amount])),
      },
      ...numberNames.map(scale),
      {
        linkId: 'signs',
        text: questions.signs,
        // A sign that is no longer on the list may still occur in an answer.
        type: 'open-choice',
        repeats: true,
        answerOption: choice([...record.signs.map((sign) => sign.words), words.noSigns]),
      },
      { linkId: 'note', text: questions.note, type: 'text' },
    ],
  };
}

const canonicalOf = (names: Names) => `urn:uuid:${names.idOf('Questionnaire', questionnaireKey)}`;

function entriesOf(
  record: FhirRecord,
  checkIn: RecordedCheckIn,
  names: Names,
  words: FhirWords,
): BundleEntry[] {
  const { id, answers, atMs } = checkIn;
  const source = sourceOf(record, checkIn, names);
  const subject = names.to('Patient', record.patient.id);
  const plan = planOf(record, checkIn, names);
  const item = itemsOf(record, answers, words);
  const numbers = numberNames.flatMap((name) => {
    const value = answers[name];
    return value === null || value === undefined ? [] : [{ name, value }];
  });
  return [
    names.entry(id, {
      resourceType: 'QuestionnaireResponse',
      ...optionalPart('basedOn', plan),
      questionnaire: canonicalOf(names),
      // If a question was never shown, the listener left the page before it.
      status: questionNames.some((name) => answers[name] === undefined) ? 'stopped' : 'completed',
      subject,
      authored: fhirInstant(atMs),
      author: source,
      source,
      ...optionalPart('item', item),
    }),
    ...numbers.map(({ name, value }) =>
      names.entry(`${id} ${name}`, {
        resourceType: 'Observation',
        ...optionalPart('basedOn', plan),
        status: 'final',
        category: categoryOf('survey'),
        code: { ...(name === 'effort' ? {} : { coding: [painCoding] }), text: words[name] },
        subject,
        effectiveDateTime: fhirInstant(atMs),
        performer: [source],
        valueInteger: value,
        derivedFrom: [names.to('QuestionnaireResponse', id)],
      }),
    ),
    names.entry(`check-in ${id}`, {
      resourceType: 'Provenance',
      target: [
        names.to('QuestionnaireResponse', id),
        ...numbers.map(({ name }) => names.to('Observation', `${id} ${name}`)),
      ],
      ...reportedBy(record, checkIn, names, words),
    }),
    ...noteReadEntries(checkIn, names, words),
  ];
}

/** Returns the record that a clinician has read the note. */
function noteReadEntries({ id, noteRead }: RecordedCheckIn, names: Names, words: FhirWords): BundleEntry[] {
  if (noteRead === null) return [];
  return [
    names.entry(`note-read ${id}`, {
      resourceType: 'Provenance',
      target: [names.to('QuestionnaireResponse', id)],
      occurredDateTime: fhirInstant(noteRead.atMs),
      recorded: fhirInstant(noteRead.atMs),
      activity: { text: words.noteRead },
      ...(noteRead.found === '' ? {} : { reason: [{ text: noteRead.found }] }),
      agent: [{ type: { text: words.reader }, who: names.to('Practitioner', noteRead.clinicianId) }],
    }),
  ];
}

/** Returns the answers; questions that were skipped or never shown are left out. */
function itemsOf(
  { signs }: FhirRecord,
  answers: CheckInAnswers,
  words: FhirWords,
): QuestionnaireResponseItem[] {
  const given: Record<(typeof questionNames)[number], QuestionnaireResponseItemAnswer[]> = {
    done: answers.done == null ? [] : [{ valueString: words.amountsDone[answers.done] }],
    painBefore: numberAnswer(answers.painBefore),
    painAfter: numberAnswer(answers.painAfter),
    effort: numberAnswer(answers.effort),
    signs: signAnswers(answers.signs, signs, words),
    note: answers.note == null ? [] : textAnswer(answers.note),
  };
  return questionNames.flatMap((linkId) => {
    const answer = given[linkId];
    return answer.length === 0 ? [] : [{ linkId, text: words.questions[linkId], answer }];
  });
}

function numberAnswer(value: number | null | undefined): QuestionnaireResponseItemAnswer[] {
  return value == null ? [] : [{ valueInteger: value }];
}

function textAnswer(text: string): QuestionnaireResponseItemAnswer[] {
  const valueString = fhirText(text);
  return valueString === null ? [] : [{ valueString }];
}

function signAnswers(
  chosen: readonly string[] | null | undefined,
  known: FhirRecord['signs'],
  words: FhirWords,
): QuestionnaireResponseItemAnswer[] {
  if (chosen == null) return [];
  if (chosen.length === 0) return [{ valueString: words.noSigns }];
  return chosen.map((id) => ({ valueString: known.find((sign) => sign.id === id)?.words ?? id }));
}

/** Returns who reported it: a caregiver for the patient, or the patient. */
export function sourceOf(
  { patient, caregivers }: FhirRecord,
  { caregiverId }: Pick<RecordedCheckIn, 'caregiverId'>,
  names: Names,
): Reference {
  const caregiver = caregivers.find(({ id }) => id === caregiverId);
  return caregiver === undefined ? names.to('Patient', patient.id) : names.to('RelatedPerson', caregiver.id);
}

/**
 * Returns the version that a report is about, if the record has it; a newer version may have been signed while the
 * record was read.
 */
export function planOf(
  { programs }: FhirRecord,
  { prescriptionId, versionNumber }: Pick<RecordedCheckIn, 'prescriptionId' | 'versionNumber'>,
  names: Names,
): Reference[] {
  const program = programs.find(({ id }) => id === prescriptionId);
  const isKnown = program?.versions.some(({ number }) => number === versionNumber) === true;
  return isKnown ? [names.to('CarePlan', versionKey(prescriptionId, versionNumber))] : [];
}

/** Returns when a device reported something, who reported it, and when the report arrived. */
export function reportedBy(
  record: FhirRecord,
  report: Pick<RecordedCheckIn, 'caregiverId' | 'atMs' | 'receivedAtMs'>,
  names: Names,
  words: FhirWords,
): { occurredDateTime: string; recorded: string; activity: { text: string }; agent: ProvenanceAgent[] } {
  return {
    occurredDateTime: fhirInstant(report.atMs),
    recorded: fhirInstant(report.receivedAtMs),
    activity: { text: words.reported },
    agent: [
      { type: { text: words.listener }, who: sourceOf(record, report, names) },
      { who: { display: words.device } },
    ],
  };
}
