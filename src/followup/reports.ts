import type { CheckInGiven, Outcome, ProgramHistory, WarningGiven } from './history.js';

/** One session that says something about tolerance: it was started or reported, or skipped unwell. */
export type SessionReport = {
  outcome: Outcome;
  day: string;
  versionNumber: number;
  /** The worst of several answers to one session; null if no one answered. */
  painBefore: number | null;
  painAfter: number | null;
  /** The lowest pain reported before it, from which a rise is measured. */
  leastPainBefore: number | null;
  effort: number | null;
  /** Pain before and after, effort and warning signs were all answered, and no sign was reported. */
  isAnswered: boolean;
  /** Someone reported that not everything was done. */
  saysLess: boolean;
  isContradictory: boolean;
  /** Skipped because of pain or illness. */
  isPutOff: boolean;
  /** When warning signs were checked. */
  tickedAtMs: readonly number[];
};

/** The informative sessions of a program, oldest first, whatever the input order. */
export function reportsOf({ outcomes }: Pick<ProgramHistory, 'outcomes'>): SessionReport[] {
  const reports: SessionReport[] = [];
  for (const outcome of inOrder(outcomes)) {
    const isPutOff = outcome.excuse === 'unwell';
    const isTold = outcome.kind === 'done' || outcome.kind === 'partly' || outcome.checkIns.length > 0;
    if (isTold || isPutOff) reports.push(reportOf(outcome, isPutOff));
  }
  return reports;
}

/** Outcomes in order of time. They usually arrive in order, and a year has many. */
function inOrder(outcomes: readonly Outcome[]): readonly Outcome[] {
  let [before] = outcomes;
  for (const each of outcomes) {
    if (before !== undefined && byTime(before, each) > 0) return [...outcomes].sort(byTime);
    before = each;
  }
  return outcomes;
}

function byTime(a: Outcome, b: Outcome): number {
  const apartMs = a.dueAtMs - b.dueAtMs;
  return apartMs !== 0 ? apartMs : a.slot < b.slot ? -1 : a.slot > b.slot ? 1 : 0;
}

const none: readonly number[] = [];

/** Written plainly, without unneeded lists or objects: it runs for every session of a year. */
function reportOf(outcome: Outcome, isPutOff: boolean): SessionReport {
  const report: SessionReport = {
    outcome,
    day: outcome.day,
    versionNumber: outcome.versionNumber,
    painBefore: null,
    leastPainBefore: null,
    painAfter: null,
    effort: null,
    isAnswered: false,
    saysLess: false,
    isContradictory: outcome.isContradictory,
    isPutOff,
    tickedAtMs: none,
  };
  let hasSaidNoSigns = false;
  for (const { answers, atMs } of outcome.checkIns) {
    report.painBefore = higher(report.painBefore, answers.painBefore);
    report.leastPainBefore = lower(report.leastPainBefore, answers.painBefore);
    report.painAfter = higher(report.painAfter, answers.painAfter);
    report.effort = higher(report.effort, answers.effort);
    if (answers.signs != null) {
      if (answers.signs.length === 0) hasSaidNoSigns = true;
      else report.tickedAtMs = [...report.tickedAtMs, atMs];
    }
    if (answers.done != null && answers.done !== 'all') report.saysLess = true;
    if (didNothingYetFelt(answers)) report.isContradictory = true;
  }
  const areAllKnown = report.painBefore !== null && report.painAfter !== null && report.effort !== null;
  report.isAnswered = areAllKnown && hasSaidNoSigns && report.tickedAtMs.length === 0;
  return report;
}

/** The higher of two answers; a missing one is ignored. */
function higher(known: number | null, reported: number | null | undefined): number | null {
  return reported == null ? known : known === null ? reported : Math.max(known, reported);
}

function lower(known: number | null, reported: number | null | undefined): number | null {
  return reported == null ? known : known === null ? reported : Math.min(known, reported);
}

/** Nothing was done, and yet effort or a change in pain was reported. */
function didNothingYetFelt({ done, painBefore, painAfter, effort }: CheckInGiven['answers']): boolean {
  if (done !== 'none') return false;
  return (effort ?? 0) > 0 || (painBefore != null && painAfter != null && painAfter !== painBefore);
}

/** The rise in pain from before to after a session, in points; null if unknown. */
export function riseOnDay({ leastPainBefore, painAfter }: SessionReport): number | null {
  return leastPainBefore === null || painAfter === null ? null : painAfter - leastPainBefore;
}

/**
 * The rise in pain from before this session to before the next one, in points; null if unknown. A next one that was
 * skipped unwell gives no number.
 */
export function riseAfter(
  { leastPainBefore }: SessionReport,
  next: SessionReport | undefined,
): number | null {
  if (leastPainBefore === null || next === undefined || next.painBefore === null) return null;
  return next.painBefore - leastPainBefore;
}

/** A reported sign, and when a clinician answered it. */
export type SignGiven = Pick<WarningGiven, 'atMs' | 'answeredAtMs'>;

/**
 * All warning signs of a patient, from all programs, oldest first: one body bears them all. A sign checked after a
 * session counts, whether or not it was also reported as a warning; it is answered with the first warning answered
 * after it.
 */
export function signsOf(
  programs: readonly Pick<ProgramHistory, 'warnings'>[],
  reports: readonly SessionReport[],
): SignGiven[] {
  const warnings = programs.flatMap((program) => program.warnings);
  const answeredAfter = (atMs: number) => {
    const later = warnings.flatMap(({ answeredAtMs }) =>
      answeredAtMs !== null && answeredAtMs >= atMs ? [answeredAtMs] : [],
    );
    return later.length === 0 ? null : Math.min(...later);
  };
  const signs = [
    ...warnings.map(({ atMs, answeredAtMs }) => ({ atMs, answeredAtMs })),
    ...reports
      .flatMap(({ tickedAtMs }) => tickedAtMs)
      .map((atMs) => ({ atMs, answeredAtMs: answeredAfter(atMs) })),
  ];
  return signs.sort((a, b) => a.atMs - b.atMs);
}
