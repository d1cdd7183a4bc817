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
/** Remarks that a note shows; two a day for a month are fewer. */
const mostRemarks = 60;

/** A measure in short; its values with their units. Days are ISO. */
export type MeasureNoted = {
  name: string;
  last: { value: string; takenOn: string };
  first: { value: string; takenOn: string } | null;
  change: {
    amount: string;
    percent: string | null;
    direction: string | null;
    verdict: Verdict;
    /** What it was held against; null where nothing is published. `percent` only where it was asked for as well. */
    published: { needed: string; percent: string | null; population: string; source: string } | null;
  } | null;
  /** What to think of at the last value; a loss with its size. */
  considerations: readonly { words: string; loss: string | null; source: string }[];
  /** The bands of ages in which the last value is below average for anyone; null where there is no table. */
  belowAverage: { bands: readonly BelowAverageAt[]; words: string; source: string } | null;
};

/** A warning sign with what was done about it, null as long as no one has written it down. */
export type WarningNoted = {
  atMs: number;
  signs: readonly string[];
  answer: { note: string; by: string; atMs: number } | null;
};

/** What the record holds, as a note is written from it. */
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
  /** What was measured up to the last of the days. */
  measures: readonly MeasureNoted[];
};

/**
 * A progress note as plain text: what was prescribed, done, felt, measured, advised and changed in some days, from the
 * record alone. Where it holds nothing, the note says so. The same record gives the same text.
 */
export function progressNote(texts: PaperTexts, data: NoteData): string {
  return plainText(fillTemplate(texts, 'progress-note', noteView(data)));
}

/** The note with the clinician's own words, as it is signed. */
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

/** A note as a paper. */
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

/** The newest remarks; whoever writes very many must not make a note that no one can open. */
function saidView(remarks: readonly CheckInGiven[], zone: string): object {
  const shown = [...remarks].sort((a, b) => a.atMs - b.atMs).slice(-mostRemarks);
  return {
    moreSaid: remarks.length > mostRemarks ? remarks.length - mostRemarks : null,
    said: shown.map(({ atMs, answers }) => ({ day: dayOfMoment(atMs, zone), words: answers.note })),
  };
}

/** After how many of the sessions that were begun or answered it was said that there was no sign; null without any. */
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
