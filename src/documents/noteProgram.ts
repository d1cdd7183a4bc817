import { tallyOf } from '../followup/adherence.js';
import { courseOf, medianOf, type Point } from '../followup/course.js';
import type { Outcome, ProgramHistory } from '../followup/history.js';
import type { Share } from '../followup/wilson.js';
import type { Difference } from '../prescription/differences.js';
import { doseInWords } from '../prescription/doseWords.js';
import { isoDayIn } from '../schedule/wallClock.js';
import { dayInWords, dayOfMoment } from './dayInWords.js';
import { reportAdaptations } from './settledFor.js';

/** A range of days, both inclusive, `YYYY-MM-DD`. */
export type Days = { fromDay: string; untilDay: string };

/** A version that replaced another, with its changes as text. */
export type ChangeMade = {
  prescriptionId: string;
  number: number;
  signedAtMs: number;
  by: string;
  reason: string;
  differences: readonly Difference[];
};

/** Advice that a clinician has answered. */
export type AdviceAnswered = {
  prescriptionId: string;
  atMs: number;
  kind: string;
  about: string;
  answer: string;
  by: string;
  reason: string;
};

/** Returns the view of one program over a range of days, for a progress note. */
export function noteProgram(
  program: ProgramHistory,
  {
    days,
    zone,
    stateWords,
    changes,
    advice,
  }: {
    days: Days;
    zone: string;
    stateWords: Readonly<Record<ProgramHistory['state'], string>>;
    changes: readonly ChangeMade[];
    advice: readonly AdviceAnswered[];
  },
): object {
  const outcomes = program.outcomes.filter(({ day }) => isIn(day, days));
  const { painBefore, painAfter, effort } = courseOf(outcomes);
  const isOwn = ({ prescriptionId }: { prescriptionId: string }) => prescriptionId === program.prescriptionId;
  const dayAt = (atMs: number) => isoDayIn(atMs, zone);
  return {
    title: program.title,
    state: stateWords[program.state],
    version: versionView(program, days, zone),
    ...tallyView(outcomes),
    putOff: putOffView(outcomes),
    painBefore: levelsView(painBefore),
    painAfter: levelsView(painAfter),
    effort: levelsView(effort),
    changes: changes
      .filter((change) => isOwn(change) && isIn(dayAt(change.signedAtMs), days))
      .map((change) => changeView(change, zone)),
    advice: advice
      .filter((answered) => isOwn(answered) && isIn(dayAt(answered.atMs), days))
      .map((answered) => ({ ...answered, day: dayOfMoment(answered.atMs, zone) })),
  };
}

/** Returns whether a day is in a range. */
export function isIn(day: string, { fromDay, untilDay }: Days): boolean {
  return day >= fromDay && day <= untilDay;
}

/** Returns the view of a change, with its day in the given zone. */
export function changeView(change: ChangeMade, zone: string): object {
  return { ...change, day: dayOfMoment(change.signedAtMs, zone) };
}

/** Returns the view of the version in effect on the last of the days; null when none was signed by then. */
function versionView({ versions }: ProgramHistory, { untilDay }: Days, zone: string): object | null {
  const version = versions.findLast(({ signedAtMs }) => isoDayIn(signedAtMs, zone) <= untilDay);
  if (version === undefined) return null;
  return {
    number: version.number,
    day: dayOfMoment(version.signedAtMs, zone),
    sessionsAWeek: version.sessionsAWeek,
    isOneSession: version.sessionsAWeek === 1,
    exercises: (version.exercises ?? []).map((prescribed) => ({
      name:
        prescribed.side === null
          ? prescribed.exercise.name
          : `${prescribed.exercise.name} (${prescribed.side})`,
      dose: doseInWords({ ...prescribed.dose }),
      adapted: reportAdaptations(prescribed),
    })),
  };
}

/** Returns the counts of outcomes for `done.mustache`. */
export function tallyView(outcomes: readonly Outcome[]): object {
  const { share, ...counts } = tallyOf(outcomes);
  return { ...counts, isOneWanted: counts.wanted === 1, share: shareView(share) };
}

/** Returns a share and its interval in whole percent, for pages and documents alike. */
export function shareView(share: Share | null): { percent: number; low: number; high: number } | null {
  if (share === null) return null;
  const percent = (part: number) => Math.round(part * 100);
  return { percent: percent(share.value), low: percent(share.low), high: percent(share.high) };
}

/** Returns how often a session was postponed, and why. */
export function putOffView(outcomes: readonly Outcome[]): object {
  const reasons = outcomes.flatMap(({ putOff }) => putOff ?? []);
  const count = (reason: (typeof reasons)[number]) => reasons.filter((each) => each === reason).length;
  const [pain, unwell] = [count('pain'), count('unwell')];
  return { pain, unwell, other: reasons.length - pain - unwell, total: reasons.length };
}

/** Returns the median and range of the values for `level.mustache`. */
export function levelsView(points: readonly Point[]): object {
  if (points.length === 0) return { isThere: false };
  const values = points.map(({ value }) => value);
  const [least, most] = [Math.min(...values), Math.max(...values)];
  return {
    isThere: true,
    median: medianOf(values),
    isRange: least !== most,
    ...{ least, most },
    answers: values.length,
    isOne: values.length === 1,
  };
}

/** Formats both days of a range for documents. */
export function daysView({ fromDay, untilDay }: Days): { from: string; until: string } {
  return { from: dayInWords(fromDay), until: dayInWords(untilDay) };
}
