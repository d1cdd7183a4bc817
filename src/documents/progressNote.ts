import type { History, ProgramHistory } from '../followup/history.js';
import { isoDayIn } from '../schedule/wallClock.js';
import { dayInWords, dayOfMoment } from './dayInWords.js';
import { filled, filledLine, type PaperTexts } from './filled.js';
import {
  type AdviceAnswered,
  type ChangeMade,
  type Days,
  daysView,
  isIn,
  noteProgram,
} from './noteProgram.js';
import { paperOf } from './paperOf.js';
import type { PageSize, Paper } from './pdf/paper.js';
import { blocksOfText, plainText } from './plainText.js';

const notePoints = 11;

/** A measure in short; its values with their units. Days are ISO. */
export type MeasureNoted = {
  name: string;
  last: { value: string; takenOn: string };
  first: { value: string; takenOn: string } | null;
  change: { amount: string; percent: string | null; direction: string | null; verdict: string } | null;
};

/** A warning sign with what was done about it, null as long as nobody has written it down. */
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
  return plainText(filled(texts, 'progress-note', noteView(data)));
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
  const own = filled(texts, 'own-words', { lines: lines.map((line) => ({ line })), by, when });
  return `${draft}\n${plainText(own)}`;
}

/** A note as a paper. */
export function notePaper(
  texts: PaperTexts,
  { text, personName, ...rest }: { text: string; personName: string; pageSize: PageSize; madeAtMs: number },
): Paper {
  return paperOf(texts, {
    ...rest,
    title: filledLine(texts, 'progress-note-title', { personName }),
    blocks: blocksOfText(text),
    letterPoints: notePoints,
  });
}

function noteView(data: NoteData): object {
  const { history, days } = data;
  const { zone } = history;
  const dayAt = (atMs: number) => isoDayIn(atMs, zone);
  const first = (program: ProgramHistory) => dayAt(program.versions[0]?.signedAtMs ?? history.nowMs);
  const checkIns = history.programs.flatMap(({ outcomes }) =>
    outcomes.flatMap((outcome) => outcome.checkIns),
  );
  return {
    clinicName: data.clinicName,
    personName: data.personName,
    birthYear: data.birthYear,
    ...daysView(days),
    programs: history.programs
      .filter((program) => first(program) <= days.untilDay)
      .map((program) => noteProgram(program, { ...data, zone })),
    warnings: data.warnings
      .filter(({ atMs }) => isIn(dayAt(atMs), days))
      .map(({ atMs, signs, answer }) => ({
        day: dayOfMoment(atMs, zone),
        signs: signs.join('; '),
        done: answer === null ? null : { ...answer, on: dayOfMoment(answer.atMs, zone) },
      })),
    measures: data.measures.map(({ name, last, first: earliest, change }) => ({
      name,
      last: last.value,
      lastDay: dayInWords(last.takenOn),
      first: earliest?.value ?? null,
      firstDay: earliest === null ? null : dayInWords(earliest.takenOn),
      change,
    })),
    said: checkIns
      .filter(({ atMs, answers }) => isIn(dayAt(atMs), days) && (answers.note ?? '').trim() !== '')
      .map(({ atMs, answers }) => ({ day: dayOfMoment(atMs, zone), words: answers.note })),
  };
}
