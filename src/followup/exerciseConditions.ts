import { isWholeSession } from '../listening/listened.js';
import type { Condition, ConditionId } from './adviceParts.js';
import type { DoseSince } from './doseSince.js';
import { dayBack, dayNumber, dayNumberAt, type ProgramFacts, shareDone } from './programFacts.js';
import type { ProgramNumbers, RuleNumbers } from './progression.js';
import { riseAfter, riseOnDay, type SessionReport } from './reports.js';

export type ExerciseNumbers = { program: ProgramNumbers; rule: RuleNumbers };

/** What the reports say about one exercise at its current dose. */
export type ExerciseEvidence = {
  conditions: readonly Condition[];
  /** The last counted session after which pain rose and did not settle; null if there was none. */
  lastFlareSlot: string | null;
  /** Often enough to form a pattern: pain rose and did not settle. */
  painStays: boolean;
  /** The last session with too much effort; null if there was none. */
  lastHardSlot: string | null;
  /**
   * The increase in points of pain before sessions since the dose began, when no single session shows it; null if there
   * is none, or less than counts.
   */
  creptPoints: number | null;
  /** Effort has increased at the same dose. */
  isEffortClimbing: boolean;
  /** Too much effort, the required number of times in a row. */
  isTooHard: boolean;
  /** Effort above target, the required number of times in a row. */
  isAboveEffort: boolean;
};

/**
 * The criteria for a step, each with its number.
 *
 * They look at the last sessions in a row, and one more: only the following session shows how the next day was. A
 * missed session says nothing about tolerance and does not break the row; it counts in the share.
 *
 * @param sessions those at the exercise's dose
 * @param beside.otherChangeMs when the dose of another exercise last changed; null for never
 */
export function exerciseEvidence(
  facts: ProgramFacts,
  { sinceVersion, endsAtMs }: DoseSince,
  { own, flares }: DoseSessions,
  { numbers, otherChangeMs }: { numbers: ExerciseNumbers; otherChangeMs: number | null },
): ExerciseEvidence {
  const { program, rule } = numbers;
  const look = own.slice(-(rule.sessionsInARow.value + 1));
  const course = firstAndLast(own, rule.sessionsInARow.value);
  const effortRise = effortCourse(own, rule.sessionsInARow.value);
  const hard = inARow(own, rule.tooMuchEffort.value - 1);
  const painStays = flares.length >= program.flares.value;
  const points = program.importantPainPoints.value;
  const rise = course === null ? null : course.to - course.from;
  const isTooHard = hard >= program.flares.value;
  const isWhole = ({ report }: Followed) => isAllDone(report, endsAtMs);
  const conditions: Condition[] = [
    atMost('flares', flares.length, program.flares.value - 1),
    ...(rise === null ? [] : [lessThan('pain-course', rise, points)]),
    atMost('too-hard-in-a-row', hard, program.flares.value - 1),
    ...(effortRise === null ? [] : [lessThan('effort-course', effortRise, program.effortRise.value)]),
    atLeast('days', daysAtDose(own, facts), rule.leastDays.value),
    ...(otherChangeMs === null
      ? []
      : [
          atLeast('other-change', facts.today - dayNumberAt(otherChangeMs, facts.zone), rule.leastDays.value),
        ]),
    shareCondition(facts, numbers.program, sinceVersion),
    atLeast('sessions', look.filter(({ next }) => next !== undefined).length, rule.sessionsInARow.value),
    atMost('gap', longestGap(look, facts), program.gapDays.value),
    ofAll('all-done', look, isWhole),
    ofAll('answered', look, ({ report }) => report.isAnswered && !report.isContradictory),
    lessThan('rise-on-day', highest(look.map(({ report }) => riseOnDay(report))), points),
    atMost('rise-after', highest(look.filter(({ next }) => next !== undefined).map(riseAfterOf)), 0),
    lessThan('pain-before', highest(look.map(({ report }) => report.painBefore)), program.reviewPain.value),
    atMost('pain', highest(look.map(({ report }) => report.painAfter)), rule.mostPain.value),
    atMost('effort', highest(look.map(({ report }) => report.effort)), rule.mostEffort.value),
  ];
  return {
    conditions,
    lastFlareSlot: flares.at(-1)?.report.outcome.slot ?? null,
    lastHardSlot: lastSlot(own, ({ effort }) => effort !== null && effort >= rule.tooMuchEffort.value),
    creptPoints: rise !== null && rise >= points ? rise : null,
    ...{ painStays, isTooHard },
    isEffortClimbing: effortRise !== null && effortRise >= program.effortRise.value,
    isAboveEffort: inARow(own, rule.mostEffort.value) >= program.flares.value,
  };
}

/** A session with the following one, which shows whether pain had settled. */
type Followed = { report: SessionReport; next: SessionReport | undefined };

/** The sessions at a dose, and those of them after which pain rose and did not settle, recently. */
export type DoseSessions = { own: readonly Followed[]; flares: readonly Followed[] };

/** The sessions since a version took effect; the following one may belong to another version. */
export function sessionsSince(
  { reports, today }: ProgramFacts,
  sinceVersion: number,
  numbers: ProgramNumbers,
): DoseSessions {
  const own: Followed[] = [];
  for (const [index, report] of reports.entries()) {
    if (report.versionNumber >= sinceVersion) own.push({ report, next: reports[index + 1] });
  }
  const from = dayBack(today, numbers.flareDays.value);
  return { own, flares: own.filter((each) => each.report.day >= from && isFlare(each, numbers)) };
}

function riseAfterOf({ report, next }: Followed): number | null {
  return riseAfter(report, next);
}

/** Pain rose by a meaningful amount, and had not settled before the next session or prevented it. */
function isFlare({ report, next }: Followed, numbers: ProgramNumbers): boolean {
  const points = numbers.importantPainPoints.value;
  const stayed = (riseAfter(report, next) ?? 0) >= points || next?.outcome.putOff === 'pain';
  return (riseOnDay(report) ?? 0) >= points && stayed;
}

function lastSlot(own: readonly Followed[], isIt: (report: SessionReport) => boolean): string | null {
  return own.findLast(({ report }) => isIt(report))?.report.outcome.slot ?? null;
}

/** The means of the first and last few pain values before sessions, without overlap; null for too few. */
function firstAndLast(own: readonly Followed[], few: number): { from: number; to: number } | null {
  const first: number[] = [];
  const last: number[] = [];
  let at = 0;
  for (; at < own.length && first.length < few; at += 1) addKnown(first, own[at]?.report.painBefore);
  for (let back = own.length - 1; back >= at && last.length < few; back -= 1) {
    addKnown(last, own[back]?.report.painBefore);
  }
  return last.length < few ? null : { from: mean(first), to: mean(last) };
}

/**
 * The difference in points between the mean of the last few effort answers and that of the first few; of each half if
 * there are fewer. Null with fewer than two.
 */
function effortCourse(own: readonly Followed[], few: number): number | null {
  const known = own.flatMap(({ report }) => report.effort ?? []);
  const count = Math.min(few, Math.floor(known.length / 2));
  return count === 0 ? null : mean(known.slice(-count)) - mean(known.slice(0, count));
}

function addKnown(values: number[], value: number | null | undefined): void {
  if (value != null) values.push(value);
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** How many of the last effort answers, in a row, were above a number. */
function inARow(own: readonly Followed[], above: number): number {
  let count = 0;
  for (let back = own.length - 1; back >= 0; back -= 1) {
    const effort = own[back]?.report.effort ?? null;
    if (effort !== null && effort <= above) break;
    if (effort !== null) count += 1;
  }
  return count;
}

/**
 * Rule ADV-8: counted from the first session, not from the signature: a dose that no one has done yet has not been
 * tolerated by anyone.
 */
function daysAtDose(own: readonly Followed[], { today }: ProgramFacts): number {
  const first = own.find(({ report }) => report.outcome.kind === 'done' || report.outcome.kind === 'partly');
  return first === undefined ? 0 : today - dayNumber(first.report.day);
}

/**
 * Rule ADV-2: whether every repetition of an exercise was done. A session counts as done at nine tenths, so the last
 * exercises need more than that. A listener who ended a session early, or chose an easier one, had a reason: none of it
 * then counts for a step.
 */
function isAllDone({ outcome, saysLess }: SessionReport, endsAtMs: number | null): boolean {
  if (outcome.kind !== 'done' || saysLess) return false;
  const whole = outcome.listened.filter(isWholeSession);
  const isReported =
    whole.length === outcome.listened.length &&
    outcome.checkIns.some(({ answers }) => answers.done === 'all');
  const isReached = whole.some(
    ({ finishedAtMs, reachedMs }) => finishedAtMs !== null || (endsAtMs !== null && reachedMs >= endsAtMs),
  );
  return isReported || isReached;
}

/**
 * In days, up to today: after a break or a week of missed sessions, everyone is a beginner again. Null if there is no
 * session.
 */
function longestGap(look: readonly Followed[], { today }: ProgramFacts): number | null {
  const days = [...look.map(({ report }) => dayNumber(report.day)), today];
  return look.length === 0
    ? null
    : Math.max(...days.slice(1).map((day, index) => day - (days[index] ?? day)));
}

function shareCondition(facts: ProgramFacts, numbers: ProgramNumbers, sinceVersion: number): Condition {
  const { of, share } = shareDone(facts, sinceVersion);
  return { ...atLeast('share', share?.value ?? null, numbers.leastShareDone.value), of };
}

function atLeast(id: ConditionId, found: number | null, wanted: number): Condition {
  return { id, found, of: null, wanted, bound: 'least', holds: found !== null && found >= wanted };
}

function atMost(id: ConditionId, found: number | null, wanted: number): Condition {
  return { id, found, of: null, wanted, bound: 'most', holds: found !== null && found <= wanted };
}

function lessThan(id: ConditionId, found: number | null, wanted: number): Condition {
  return { ...atMost(id, found, wanted), holds: found !== null && found < wanted };
}

function ofAll(id: ConditionId, look: readonly Followed[], isGood: (each: Followed) => boolean): Condition {
  const found = look.filter(isGood).length;
  return {
    id,
    found,
    of: look.length,
    wanted: look.length,
    bound: 'least',
    holds: look.length > 0 && found === look.length,
  };
}

/** Rule ADV-1: null as soon as one is unknown: what no one reported is not assumed to be good. */
function highest(values: readonly (number | null)[]): number | null {
  const known = values.flatMap((value) => value ?? []);
  return known.length === 0 || known.length < values.length ? null : Math.max(...known);
}
