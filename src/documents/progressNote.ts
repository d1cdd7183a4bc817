import type { Verdict } from '../followup/change.js';
import { painBeforeOf, painStandingOn } from '../followup/course.js';
import type { CheckInGiven, History, Outcome, ProgramHistory } from '../followup/history.js';
import type { BelowAverageAt } from '../followup/reference.js';
import { isoDayIn } from '../schedule/wallClock.js';
import { dayInWords, dayOfMoment } from './dayInWords.js';
import { fillLine, fillTemplate, type PaperTexts } from './filled.js';
import {
  type AdviceAnswered,
  type ChangeMade,
  type Days,
  daysView,
  isIn,
  noteProgram,
} from './noteProgram.js';
import { painStandingView } from './painView.js';
import { paperOf } from './paperOf.js';
import type { PageSize, Paper } from './pdf/paper.js';
import { blocksOfText, plainText } from './plainText.js';

const notePoints = 11;
/** The most remarks that a note shows; two a day for a month come to fewer. */
const mostRemarks = 60;

/** A measure in brief, its values with their units. Days are ISO. */
export type MeasureNoted = {
  name: string;
  last: { value: string; takenOn: string };
  first: { value: string; takenOn: string } | null;
  change: {
    amount: string;
    percent: string | null;
    direction: string | null;
    verdict: Verdict;
    /**
     * The published threshold of change; null where there is none. `percent` is set only where a percentage is required
     * too.
     */
    published: { needed: string; percent: string | null; population: string; source: string } | null;
  } | null;
  /** What to consider at the last value; a loss has its size. */
  considerations: readonly { words: string; loss: string | null; source: string }[];
  /** The age bands in which the last value is below average for anyone; null where there is no table. */
  belowAverage: { bands: readonly BelowAverageAt[]; words: string; source: string } | null;
};

/** A warning sign and the action taken, which is null until someone has recorded it. */
export type WarningNoted = {
  atMs: number;
  signs: readonly string[];
  answer: { note: string; by: string; atMs: number } | null;
};

/** The record data that a note is written from. */
export type NoteData = {
  clinicName: string;
  personName: string;
  birthYear: number | null;
  days: Days;
  history: History;
  stateWords: Readonly<Record<ProgramHistory['state'], string>>;
  changes: readonly ChangeMade[];
  advice: readonly AdviceAnswered[];
  warnings: readonly WarningNoted[];
  /** Measurements up to the last of the days. */
  measures: readonly MeasureNoted[];
};

/**
 * Returns a progress note as plain text: what was prescribed, done, reported, measured, advised and changed in a range
 * of days, from the record alone. Where the record has nothing, the note says so. The same record always gives the same
 * text.
 */
export function progressNote(texts: PaperTexts, data: NoteData): string {
  return plainText(fillTemplate(texts, 'progress-note', noteView(data)));
}

/** Returns the note with the clinician's own words, as it is signed. */
export function signedNote(
  texts: PaperTexts,
  draft: string,
  { words, by, when }: { words: string; by: string; when: string },
): string {
  const lines = words
    .split(/\r?\n/)
    .map((line) => line.trim())
    .filter((line) => line !== '');
  const own = fillTemplate(texts, 'own-words', { lines: lines.map((line) => ({ line })), by, when });
  return `${draft}\n${plainText(own)}`;
}

/** Returns a note as a document. */
export function notePaper(
  texts: PaperTexts,
  { text, personName, ...rest }: { text: string; personName: string; pageSize: PageSize; madeAtMs: number },
): Paper {
  return paperOf(texts, {
    ...rest,
    title: fillLine(texts, 'progress-note-title', { personName }),
    blocks: blocksOfText(text),
    letterPoints: notePoints,
  });
}

function noteView(data: NoteData): object {
  const { history, days } = data;
  const { zone } = history;
  const dayAt = (atMs: number) => isoDayIn(atMs, zone);
  const first = (program: ProgramHistory) => dayAt(program.versions[0]?.signedAtMs ?? history.nowMs);
  const outcomes = history.programs.flatMap((program) => program.outcomes);
  const checkIns = outcomes.flatMap((outcome) => outcome.checkIns);
  return {
    clinicName: data.clinicName,
    personName: data.personName,
    birthYear: data.birthYear,
    ...daysView(days),
    programs: history.programs
      .filter((program) => first(program) <= days.untilDay)
      .map((program) => noteProgram(program, { ...data, zone })),
    ...painStandingView(painStandingOn(painBeforeOf(outcomes), days.untilDay)),
    warnings: data.warnings
      .filter(({ atMs }) => isIn(dayAt(atMs), days))
      .map(({ atMs, signs, answer }) => ({
        day: dayOfMoment(atMs, zone),
        signs: signs.join('; '),
        done: answer === null ? null : { ...answer, on: dayOfMoment(answer.atMs, zone) },
      })),
    asked: askedView(outcomes.filter(({ day }) => isIn(day, days))),
    measures: data.measures.map(measureView),
    ...saidView(
      checkIns.filter(({ atMs, answers }) => isIn(dayAt(atMs), days) && (answers.note ?? '').trim() !== ''),
      zone,
    ),
  };
}

/**
 * Returns the newest remarks. They are limited, because a patient who writes very many must not make the note too large
 * to open.
 */
function saidView(remarks: readonly CheckInGiven[], zone: string): object {
  const shown = [...remarks].sort((a, b) => a.atMs - b.atMs).slice(-mostRemarks);
  return {
    moreSaid: remarks.length > mostRemarks ? remarks.length - mostRemarks : null,
    said: shown.map(({ atMs, answers }) => ({ day: dayOfMoment(atMs, zone), words: answers.note })),
  };
}

/**
 * Returns for how many sessions the patient reported no warning sign, of those that were started or answered; null when
 * there are none.
 */
function askedView(outcomes: readonly Outcome[]): object | null {
  const startedSessions = outcomes.filter(
    ({ listened, checkIns }) => listened.length > 0 || checkIns.length > 0,
  );
  if (startedSessions.length === 0) return null;
  const saidNone = startedSessions.filter(({ checkIns }) =>
    checkIns.some(({ answers }) => answers.signs?.length === 0),
  );
  return { saidNone: saidNone.length, begun: startedSessions.length, isOne: startedSessions.length === 1 };
}

function measureView({ last, first, change, belowAverage, ...measure }: MeasureNoted): object {
  return {
    ...measure,
    last: last.value,
    lastDay: dayInWords(last.takenOn),
    first: first?.value ?? null,
    firstDay: first === null ? null : dayInWords(first.takenOn),
    change: change === null ? null : changeView(change),
    belowAverage: belowAverage?.bands.map((band) => ({ ...belowAverage, ...band })) ?? [],
  };
}

function changeView({ verdict, ...change }: NonNullable<MeasureNoted['change']>): object {
  return {
    ...change,
    isMore: verdict === 'more',
    isByAmount: verdict === 'more-by-amount',
    isByPercent: verdict === 'more-by-percent',
    isWithin: verdict === 'within',
  };
}
