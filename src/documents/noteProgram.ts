import { tallyOf } from '../followup/adherence.js';
import {
  courseOf,
  isTooEarly,
  medianOf,
  type PainChange,
  type Point,
  painChange,
} from '../followup/course.js';
import type { Outcome, ProgramHistory } from '../followup/history.js';
import { doseInWords } from '../prescription/doseWords.js';
import { isoDayIn } from '../schedule/wallClock.js';
import { dayInWords, dayOfMoment } from './dayInWords.js';
import { adaptedReported } from './settledFor.js';

/** Both inclusive, `YYYY-MM-DD`. */
export type Days = { fromDay: string; untilDay: string };

/** A version that was signed in place of another, with what it changed in words. */
export type ChangeMade = {
  prescriptionId: string;
  number: number;
  signedAtMs: number;
  by: string;
  reason: string;
  differences: readonly { where: string; from: string; to: string }[];
};

/** Advice that was answered. */
export type AdviceAnswered = {
  prescriptionId: string;
  atMs: number;
  kind: string;
  about: string;
  answer: string;
  by: string;
  reason: string;
};

/** What a progress note says of one program in a time. */
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
    painBefore: levelView(painBefore),
    painAfter: levelView(painAfter),
    effort: levelView(effort),
    painChange: painChangeView(painChange(painBefore, days.untilDay)),
    isTooEarly: isTooEarly(painBefore, days.untilDay),
    changes: changes
      .filter((change) => isOwn(change) && isIn(dayAt(change.signedAtMs), days))
      .map((change) => changeView(change, zone)),
    advice: advice
      .filter((answered) => isOwn(answered) && isIn(dayAt(answered.atMs), days))
      .map((answered) => ({ ...answered, day: dayOfMoment(answered.atMs, zone) })),
  };
}

export function isIn(day: string, { fromDay, untilDay }: Days): boolean {
  return day >= fromDay && day <= untilDay;
}

export function changeView(change: ChangeMade, zone: string): object {
  return { ...change, day: dayOfMoment(change.signedAtMs, zone) };
}

/** The version that held on the last of the days; null when none was signed by then. */
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
      adapted: adaptedReported(prescribed),
    })),
  };
}

/** For `done.mustache`. */
export function tallyView(outcomes: readonly Outcome[]): object {
  const { share, ...counts } = tallyOf(outcomes);
  const percent = (part: number) => Math.round(100 * part);
  return {
    ...counts,
    share:
      share === null
        ? null
        : { percent: percent(share.value), low: percent(share.low), high: percent(share.high) },
  };
}

/** How often a session was put off, and why. */
function putOffView(outcomes: readonly Outcome[]): object {
  const reasons = outcomes.flatMap(({ putOff }) => putOff ?? []);
  const count = (reason: (typeof reasons)[number]) => reasons.filter((each) => each === reason).length;
  const [pain, unwell] = [count('pain'), count('unwell')];
  return { pain, unwell, other: reasons.length - pain - unwell };
}

function levelView(points: readonly Point[]): object {
  if (points.length === 0) return { isThere: false };
  const values = points.map(({ value }) => value);
  return {
    isThere: true,
    middle: medianOf(values),
    least: Math.min(...values),
    most: Math.max(...values),
    answers: values.length,
    isOne: values.length === 1,
  };
}

function painChangeView(change: PainChange | null): object | null {
  if (change === null) return null;
  const { before, now, points, percent, kind } = change;
  return {
    before: before.median,
    now: now.median,
    points: signed(points),
    percent: percent === null ? null : signed(Math.round(percent)),
    isLess: kind === 'less',
    isMore: kind === 'more',
    isWithin: kind === 'within',
  };
}

function signed(value: number): string {
  return value > 0 ? `+${value}` : String(value).replace('-', '\u2212');
}

/** Both days for reading. */
export function daysView({ fromDay, untilDay }: Days): { from: string; until: string } {
  return { from: dayInWords(fromDay), until: dayInWords(untilDay) };
}
