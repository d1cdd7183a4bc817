import { byExercise } from '../followup/adherence.js';
import { courseOf, importantPain } from '../followup/course.js';
import type { ProgramHistory } from '../followup/history.js';
import { reportsOf, riseOnDay } from '../followup/reports.js';
import { changeTimesInWords } from '../prescription/changeTimeWords.js';
import type { ReadPrescription } from '../prescription/content.js';
import { doseInWords, secondsInWords } from '../prescription/doseWords.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import type { BreathPace } from '../program/schema.js';
import type { TimetableInWords } from '../schedule/inWords.js';
import { dayOfMoment } from './dayInWords.js';
import { steps } from './exerciseView.js';
import { fillLine, fillTemplate, type PaperTexts } from './filled.js';
import { drawExercises, drawingOf } from './handoutFigures.js';
import { type ChangeMade, changeView, levelsView, putOffView, tallyView } from './noteProgram.js';
import { paperOf } from './paperOf.js';
import type { Block, PageSize, Paper } from './pdf/paper.js';
import { reportAdaptations, reportSettlement } from './settledFor.js';

const descriptionPoints = 11;

/**
 * The items of the Consensus on Exercise Reporting Template (CERT; Slade, Dionne, Underwood and Buchbinder 2016, Br J
 * Sports Med 50:1428), all of which a description covers.
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
  /** All clinicians who signed a version. */
  prescribers: readonly string[];
  timetable: TimetableInWords;
  changes: readonly ChangeMade[];
  hasCaregivers: boolean;
  /** How reminders are sent, as text; empty for none. */
  reminders: string;
  /** The patient's warning signs as text, one for each report. */
  harms: readonly string[];
  /** The sentence that the clinician adds to each item; empty for none. */
  added: Readonly<Record<string, string>>;
};

/**
 * Returns a full description of a program and its course, item by item. Items that the record does not cover are stated
 * as missing.
 */
export function programDescription(texts: PaperTexts, data: DescriptionData): Block[] {
  return fillTemplate(texts, 'program-description', descriptionView(data), {
    figures: drawExercises(data.prescription.program),
  });
}

/** Returns the description as a document. */
export function descriptionPaper(
  texts: PaperTexts,
  data: DescriptionData,
  page: { pageSize: PageSize; madeAtMs: number },
): Paper {
  return paperOf(texts, {
    ...page,
    title: fillLine(texts, 'program-description-title', data),
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
    ...risesView(history),
    putOff: putOffView(history.outcomes),
    effort: levelsView(courseOf(history.outcomes).effort),
    breath: breathView(prescription.program.breath),
    when: data.timetable.when,
    span: data.timetable.span,
    changeTimes: changeTimesInWords(prescription.program.changeTimes),
    minutes: durationMs === null ? null : Math.round(durationMs / 60_000),
    settled: Object.entries(prescription.settlements).map(([id, each]) => reportSettlement(id, each)),
    ...tallyView(history.outcomes),
    reached: byExercise(history, history.outcomes).map(({ name, reached, wanted }) => ({
      name,
      count: reached,
      wanted,
    })),
    added: Object.fromEntries(reportingItems.map((item) => [`i${item}`, data.added[item] ?? ''])),
  };
}

/**
 * Returns after how many sessions pain was higher by a clinically important amount, of those with answers before and
 * after.
 */
function risesView(history: ProgramHistory): object {
  const rises = reportsOf(history).flatMap((report) => riseOnDay(report) ?? []);
  return {
    hasPainAnswers: rises.length > 0,
    painAnswers: rises.length,
    isOnePainAnswer: rises.length === 1,
    painRises: rises.filter((rise) => rise >= importantPain.points).length,
    painPoints: importantPain.points,
  };
}

/** Returns the breathing pace with its pauses, and in breaths per minute to one decimal. */
function breathView(pace: BreathPace): object {
  const cycleSeconds =
    pace.inSeconds + pace.pauseAfterInSeconds + pace.outSeconds + pace.pauseAfterOutSeconds;
  return {
    in: secondsInWords(pace.inSeconds),
    out: secondsInWords(pace.outSeconds),
    pauseIn: pace.pauseAfterInSeconds > 0 ? secondsInWords(pace.pauseAfterInSeconds) : null,
    pauseOut: pace.pauseAfterOutSeconds > 0 ? secondsInWords(pace.pauseAfterOutSeconds) : null,
    aMinute: Math.round(600 / cycleSeconds) / 10,
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
    drawing: drawingOf(prescribed),
    how: steps(exercise.how),
    avoidAll: exercise.avoid.join(' '),
    rule: ladder.rule,
    dose: doseInWords({ ...dose }),
    doseSource: exercise.doseSource.text,
    adapted: reportAdaptations(prescribed),
  };
}

function counted(words: readonly string[]): { words: string; count: number }[] {
  return [...new Set(words)].map((each) => ({
    words: each,
    count: words.filter((other) => other === each).length,
  }));
}
