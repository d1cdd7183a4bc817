import { byExercise } from '../followup/adherence.js';
import type { ProgramHistory } from '../followup/history.js';
import type { ReadPrescription } from '../prescription/content.js';
import { doseInWords } from '../prescription/doseWords.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import type { TimetableInWords } from '../schedule/inWords.js';
import { dayOfMoment } from './dayInWords.js';
import { steps } from './exerciseView.js';
import { filled, filledLine, type PaperTexts } from './filled.js';
import { type ChangeMade, changeView, tallyView } from './noteProgram.js';
import { paperOf } from './paperOf.js';
import type { Block, PageSize, Paper } from './pdf/paper.js';
import { adaptedReported, settledReported } from './settledFor.js';

const descriptionPoints = 11;

/**
 * The items of the Consensus on Exercise Reporting Template (CERT; Slade, Dionne, Underwood and Buchbinder 2016, Br J
 * Sports Med 50:1428), each of which a description answers.
 */
export const reportingItems = [
  '1',
  '2',
  '3',
  '4',
  '5',
  '6',
  '7a',
  '7b',
  '8',
  '9',
  '10',
  '11',
  '12',
  '13',
  '14a',
  '14b',
  '15',
  '16a',
  '16b',
] as const;

export type DescriptionData = {
  clinicName: string;
  personName: string;
  title: string;
  history: ProgramHistory;
  zone: string;
  prescription: ReadPrescription;
  version: { number: number; signedAtMs: number; by: string };
  /** Everybody who signed a version. */
  prescribers: readonly string[];
  timetable: TimetableInWords;
  changes: readonly ChangeMade[];
  hasCaregivers: boolean;
  /** How reminders go out, in words; empty for none. */
  reminders: string;
  /** Warning signs of this person in words, one for each time that it was given. */
  harms: readonly string[];
  /** A sentence that the clinician adds to an item, by the item; empty for none. */
  added: Readonly<Record<string, string>>;
};

/** A full description of a program and its course, item by item; what the record does not hold is said to be missing. */
export function programDescription(texts: PaperTexts, data: DescriptionData): Block[] {
  return filled(texts, 'program-description', descriptionView(data));
}

/** The same as a paper. */
export function descriptionPaper(
  texts: PaperTexts,
  data: DescriptionData,
  page: { pageSize: PageSize; madeAtMs: number },
): Paper {
  return paperOf(texts, {
    ...page,
    title: filledLine(texts, 'program-description-title', data),
    blocks: programDescription(texts, data),
    letterPoints: descriptionPoints,
  });
}

function descriptionView(data: DescriptionData): object {
  const { history, prescription, version, zone } = data;
  const { exercises } = prescription.program;
  const listened = history.outcomes.flatMap((outcome) => outcome.listened);
  const durationMs = history.versions.find(({ number }) => number === version.number)?.durationMs ?? null;
  const equipment = [...new Set(exercises.flatMap(({ exercise }) => exercise.equipment))];
  return {
    clinicName: data.clinicName,
    personName: data.personName,
    title: data.title,
    ...version,
    day: dayOfMoment(version.signedAtMs, zone),
    prescribers: data.prescribers.join(', '),
    equipment: equipment.map((item) => ({ item })),
    hasCaregivers: data.hasCaregivers,
    withCaregiver: listened.filter(({ caregiverId }) => caregiverId !== null).length,
    begun: listened.length,
    reminders: data.reminders,
    changes: data.changes.map((change) => changeView(change, zone)),
    exercises: exercises.map(exerciseReported),
    harmCount: data.harms.length,
    harms: counted(data.harms),
    when: data.timetable.when,
    span: data.timetable.span,
    minutes: durationMs === null ? null : Math.round(durationMs / 60_000),
    settled: Object.entries(prescription.settlements).map(([id, each]) => settledReported(id, each)),
    ...tallyView(history.outcomes),
    reached: byExercise(history, history.outcomes).map(({ name, reached, wanted }) => ({
      name,
      count: reached,
      wanted,
    })),
    added: Object.fromEntries(reportingItems.map((item) => [`i${item}`, data.added[item] ?? ''])),
  };
}

function exerciseReported(prescribed: PrescribedExercise): object {
  const { exercise, dose, side, index } = prescribed;
  const { position, ladder } = exercise;
  return {
    place: index + 1,
    name: side === null ? exercise.name : `${exercise.name} (${side})`,
    anatomy: exercise.anatomy,
    position: [position.surface, position.headSupport, position.arms, position.knees].join(' '),
    how: steps(exercise.how),
    avoidAll: exercise.avoid.join(' '),
    rule: ladder.rule,
    dose: doseInWords({ ...dose }),
    doseSource: exercise.doseSource.text,
    adapted: adaptedReported(prescribed),
  };
}

function counted(words: readonly string[]): { words: string; count: number }[] {
  return [...new Set(words)].map((each) => ({
    words: each,
    count: words.filter((other) => other === each).length,
  }));
}
