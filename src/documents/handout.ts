import { lyingDownAndGettingUpId } from '../catalogue/adaptation.js';
import { offeredSigns, urgencies, type WarningSigns } from '../followup/warningSigns.js';
import type { ReadPrescription } from '../prescription/content.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import type { TimetableInWords } from '../schedule/inWords.js';
import { dayOfMoment } from './dayInWords.js';
import { exerciseView } from './exerciseView.js';
import { type Drawings, fillLine, fillLines, fillTemplate, type PaperTexts } from './filled.js';
import { compactView } from './handoutCompact.js';
import { drawHandout, drawingOf, isPartOfWays } from './handoutFigures.js';
import { handoutSheets, lettersOf, marginOf } from './handoutSheets.js';
import { pageSizeIn, paperOf } from './paperOf.js';
import type { PageSize, Paper, SquareCode } from './pdf/paper.js';
import { listSettledLines, mergeSettledLines, type SettledLine } from './settledFor.js';

/** What is chosen each time that a handout is printed. */
export type HandoutChoices = {
  /** Null for what is usual in the clinic's zone. */
  pageSize: PageSize | null;
  /** Every word of each exercise in large letters, on as many pages as that takes. */
  isLargePrint: boolean;
  /** Boxes to tick for each day of four weeks; 0 for none. */
  ticksEachDay: number;
};

export type Handout = HandoutChoices & {
  clinic: { name: string; phone: string; emergencyNumber: string; zone: string };
  personName: string;
  programTitle: string;
  prescription: ReadPrescription;
  signedAtMs: number;
  /** When sessions are scheduled. */
  timetable: TimetableInWords;
  warningSigns: WarningSigns;
  /** How to open the listening page. Available only while a link is new, because its secrets are not stored. */
  access: { square: SquareCode; code: string; typedAt: string; until: string; hasPin: boolean } | null;
  madeAtMs: number;
};

/** So many weeks are a page of boxes. */
const weeksOfTicks = 4;

/**
 * What a patient takes home: the program in figures, how to lie down and get up, when to stop, and whom to call; on two
 * pages, on three with more than eight exercises, or in large print with every word of each exercise.
 */
export function handout(texts: PaperTexts, about: Handout): Paper {
  const { clinic, prescription, access, isLargePrint } = about;
  const { program } = prescription;
  const drawn = drawHandout(texts, program);
  const settled = settledView(prescription);
  const emergencyNumber = fillLine(texts, 'emergency-number', clinic);
  const compact = isLargePrint ? null : compactView(program);
  const view = {
    clinicName: clinic.name,
    phone: clinic.phone,
    emergencyNumber: clinic.emergencyNumber,
    personName: about.personName,
    programTitle: about.programTitle,
    signedOn: dayOfMoment(about.signedAtMs, clinic.zone),
    when: about.timetable.when,
    span: about.timetable.span,
    access,
    ...compact?.ofAll,
    exercises: program.exercises.map((each) => {
      const isShownLast = isPartOfWays(each.exercise, drawn);
      const hasPicture = isShownLast || drawn.figures.has(drawingOf(each));
      return {
        ...exerciseView(prescription, each, settled.saidFor(each)),
        ...compact?.ofEach(each, hasPicture),
        drawing: isShownLast ? '' : drawingOf(each),
        isShownLast,
        hasNoPicture: !hasPicture,
      };
    }),
    ...settled.view,
    ways: drawn.ways,
    hasWays: drawn.ways.length > 0,
    hasWayOrWays: drawn.ways.length > 0 || settled.view.hasWay,
    urgencies: urgencies.map((urgency) => ({
      isEmergency: urgency === 'emergency',
      isToday: urgency === 'call-today',
      isRest: urgency === 'stop-and-rest',
      signs: offeredSigns(about.warningSigns)
        .filter((sign) => sign.urgency === urgency)
        .map(({ words, instruct, brief = instruct }) => ({
          ...{ words, instruct },
          brief: brief.replaceAll('{{emergencyNumber}}', emergencyNumber),
        })),
    })),
    hasTicks: about.ticksEachDay > 0,
  };
  const drawings: Drawings = {
    code: access === null ? null : { code: access.square, description: fillLine(texts, 'square-code', {}) },
    figures: drawn.figures,
    sheets: handoutSheets(program.exercises.length),
    ticks: ticksOf(texts, about.ticksEachDay),
  };
  return paperOf(texts, {
    title: fillLine(texts, 'handout-title', view),
    blocks: fillTemplate(texts, isLargePrint ? 'handout-large' : 'handout', view, drawings),
    letterPoints: lettersOf(isLargePrint),
    ...(isLargePrint ? {} : { marginPoints: marginOf }),
    pageSize: about.pageSize ?? pageSizeIn(clinic.zone),
    madeAtMs: about.madeAtMs,
  });
}

function ticksOf(texts: PaperTexts, boxesEachDay: number): NonNullable<Drawings['ticks']> | null {
  if (boxesEachDay === 0) return null;
  const weeks = Array.from({ length: weeksOfTicks }, (_, week) =>
    fillLine(texts, 'tick-week', { number: week + 1 }),
  );
  return { kind: 'ticks', days: fillLines(texts, 'tick-days'), weeks, boxesEachDay };
}

/** What was settled: what holds for all, for lying on the back, and for the way down and up, each said once. */
function settledView(prescription: ReadPrescription) {
  const always = settledForAll(prescription);
  const saidAlways = new Set(always.map(({ ruleId }) => ruleId));
  const lying = settledForLying(prescription).filter(({ ruleId }) => !saidAlways.has(ruleId));
  const way = mergeSettledLines(
    listSettledLines(prescription, lyingDownAndGettingUpId).filter(({ ruleId }) => !saidAlways.has(ruleId)),
  );
  const saidOnBack = new Set([...saidAlways, ...lying.map(({ ruleId }) => ruleId)]);
  return {
    saidFor: (each: PrescribedExercise) => (staysOnBack(each) ? saidOnBack : saidAlways),
    view: {
      always: mergeSettledLines(always),
      hasAlways: always.length > 0,
      lying: mergeSettledLines(lying),
      hasLying: lying.length > 0,
      way,
      hasWay: way.length > 0,
    },
  };
}

/**
 * Returns the precautions that apply to lying down, getting up and every exercise alike. They are printed once above
 * the exercises, not under each.
 */
function settledForAll(prescription: ReadPrescription): SettledLine[] {
  return inEvery([
    listSettledLines(prescription, lyingDownAndGettingUpId),
    ...prescription.program.exercises.map(({ exercise }) => listSettledLines(prescription, exercise.id)),
  ]);
}

/** Returns the precautions that apply to every exercise on the back, where there is more than one. */
function settledForLying(prescription: ReadPrescription): SettledLine[] {
  const onBack = prescription.program.exercises.filter(staysOnBack);
  return onBack.length < 2
    ? []
    : inEvery(onBack.map(({ exercise }) => listSettledLines(prescription, exercise.id)));
}

const staysOnBack = ({ exercise: { path } }: PrescribedExercise) =>
  path.from.position === 'supine' && path.to === undefined;

function inEvery([first = [], ...others]: readonly SettledLine[][]): SettledLine[] {
  return first.filter(({ ruleId }) => others.every((lines) => lines.some((line) => line.ruleId === ruleId)));
}
