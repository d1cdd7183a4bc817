import { lyingDownAndGettingUpId } from '../catalogue/adaptation.js';
import { offeredSigns, urgencies, type WarningSigns } from '../followup/warningSigns.js';
import type { ReadPrescription } from '../prescription/content.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import type { TimetableInWords } from '../schedule/inWords.js';
import { dayOfMoment } from './dayInWords.js';
import { exerciseView } from './exerciseView.js';
import { fillLine, fillTemplate, type PaperTexts } from './filled.js';
import { pageSizeIn, paperOf } from './paperOf.js';
import type { PageSize, Paper, SquareCode } from './pdf/paper.js';
import { listSettledLines, mergeSettledLines, type SettledLine } from './settledFor.js';

/** Large print begins at 18 points (American Printing House for the Blind; from memory). */
const largePoints = 18;

export type Handout = {
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
  /** Null for the usual size in the clinic's zone. */
  pageSize: PageSize | null;
  madeAtMs: number;
};

/** Returns the patient's handout: the program in large print, when to do it, whom to call, and when to stop. */
export function handout(texts: PaperTexts, about: Handout): Paper {
  const { clinic, prescription, access, timetable } = about;
  const { program } = prescription;
  const always = settledForAll(prescription);
  const saidAlways = new Set(always.map(({ ruleId }) => ruleId));
  const lying = settledForLying(prescription).filter(({ ruleId }) => !saidAlways.has(ruleId));
  const way = mergeSettledLines(
    listSettledLines(prescription, lyingDownAndGettingUpId).filter(({ ruleId }) => !saidAlways.has(ruleId)),
  );
  const saidOnBack = new Set([...saidAlways, ...lying.map(({ ruleId }) => ruleId)]);
  const view = {
    clinicName: clinic.name,
    phone: clinic.phone,
    emergencyNumber: clinic.emergencyNumber,
    personName: about.personName,
    programTitle: about.programTitle,
    signedOn: dayOfMoment(about.signedAtMs, clinic.zone),
    when: timetable.when,
    span: timetable.span,
    access,
    exercises: program.exercises.map((each) =>
      exerciseView(prescription, each, staysOnBack(each) ? saidOnBack : saidAlways),
    ),
    always: mergeSettledLines(always),
    hasAlways: always.length > 0,
    lying: mergeSettledLines(lying),
    hasLying: lying.length > 0,
    way,
    hasWay: way.length > 0,
    urgencies: urgencies.map((urgency) => ({
      isEmergency: urgency === 'emergency',
      isToday: urgency === 'call-today',
      isRest: urgency === 'stop-and-rest',
      signs: offeredSigns(about.warningSigns)
        .filter((sign) => sign.urgency === urgency)
        .map(({ words, instruct }) => ({ words, instruct })),
    })),
  };
  const code =
    access === null ? null : { code: access.square, description: fillLine(texts, 'square-code', {}) };
  return paperOf(texts, {
    title: fillLine(texts, 'handout-title', view),
    blocks: fillTemplate(texts, 'handout', view, code),
    letterPoints: largePoints,
    pageSize: about.pageSize ?? pageSizeIn(clinic.zone),
    madeAtMs: about.madeAtMs,
  });
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
