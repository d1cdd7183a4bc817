import type { CheckInGiven, History, Outcome, ProgramHistory, WarningGiven } from './history.js';

/** One session that says something about how a dose is borne: it was begun or reported, or put off unwell. */
export type SessionReport = {
  outcome: Outcome;
  day: string;
  versionNumber: number;
  /** Of several answers to one session the worst counts; null when nobody answered. */
  painBefore: number | null;
  painAfter: number | null;
  /** The least pain that was reported before, against which a rise is held. */
  leastPainBefore: number | null;
  effort: number | null;
  /** Pain before and after, effort and warning signs were all answered, and no sign was given. */
  isAnswered: boolean;
  /** Somebody reported that not all was done. */
  saysLess: boolean;
  isContradictory: boolean;
  /** Put off because of pain or illness. */
  isPutOff: boolean;
};

/** The sessions of a program that say something, oldest first, whatever the order in which they are given. */
export function reportsOf({ outcomes }: Pick<ProgramHistory, 'outcomes'>): SessionReport[] {
  return inOrder(outcomes).flatMap((outcome) => {
    const isPutOff = outcome.excuse === 'unwell';
    const isTold = outcome.kind === 'done' || outcome.kind === 'partly' || outcome.checkIns.length > 0;
    return isTold || isPutOff ? [reportOf(outcome, isPutOff)] : [];
  });
}

/** Outcomes by their times. */
export function inOrder(outcomes: readonly Outcome[]): readonly Outcome[] {
  const isBefore = (a: Outcome, b: Outcome) =>
    a.dueAtMs - b.dueAtMs || (a.slot < b.slot ? -1 : a.slot > b.slot ? 1 : 0);
  // They usually come in order, and a year of them is many.
  const isSorted = outcomes.every(
    (each, index) => index === 0 || isBefore(outcomes[index - 1] ?? each, each) <= 0,
  );
  return isSorted ? outcomes : [...outcomes].sort(isBefore);
}

function reportOf(outcome: Outcome, isPutOff: boolean): SessionReport {
  const { checkIns } = outcome;
  const answers = checkIns.map((checkIn) => checkIn.answers);
  const numbers = (pick: (each: (typeof answers)[number]) => number | null | undefined) =>
    answers.flatMap((each) => pick(each) ?? []);
  const before = numbers(({ painBefore }) => painBefore);
  const painAfter = most(numbers((each) => each.painAfter));
  const effort = most(numbers((each) => each.effort));
  const hasNoSigns = answers.some(({ signs }) => signs != null) && !checkIns.some(hasSigns);
  const said = answers.flatMap(({ done }) => done ?? []);
  return {
    outcome,
    day: outcome.day,
    versionNumber: outcome.versionNumber,
    painBefore: most(before),
    leastPainBefore: before.length === 0 ? null : Math.min(...before),
    painAfter,
    effort,
    isAnswered: before.length > 0 && painAfter !== null && effort !== null && hasNoSigns,
    saysLess: said.some((done) => done !== 'all'),
    isContradictory: outcome.isContradictory || answers.some(didNothingYetFelt),
    isPutOff,
  };
}

/** Nothing was done, and yet it cost effort or changed the pain. */
function didNothingYetFelt({ done, painBefore, painAfter, effort }: CheckInGiven['answers']): boolean {
  if (done !== 'none') return false;
  return (effort ?? 0) > 0 || (painBefore != null && painAfter != null && painAfter !== painBefore);
}

function hasSigns({ answers }: CheckInGiven): boolean {
  return answers.signs != null && answers.signs.length > 0;
}

/** By how many points pain was higher after a session than before; null when it is not known. */
export function riseOnDay({ leastPainBefore, painAfter }: SessionReport): number | null {
  return leastPainBefore === null || painAfter === null ? null : painAfter - leastPainBefore;
}

/**
 * By how many points pain was higher before the next session than before this one; null when it is not known. A next
 * one that was put off unwell tells no number.
 */
export function riseAfter(
  { leastPainBefore }: SessionReport,
  next: SessionReport | undefined,
): number | null {
  if (leastPainBefore === null || next === undefined || next.painBefore === null) return null;
  return next.painBefore - leastPainBefore;
}

/** A sign that was given, and when somebody had looked into it. */
export type SignGiven = Pick<WarningGiven, 'atMs' | 'answeredAtMs'>;

/**
 * Every warning sign of a patient, of all programs, oldest first: one body bears them all. A sign that was ticked after
 * a session counts, whether or not it also came as a warning; it is answered with the first warning that was answered
 * after it.
 */
export function signsOf({ programs }: Pick<History, 'programs'>): SignGiven[] {
  const warnings = programs.flatMap((program) => program.warnings);
  const ticked = programs.flatMap(({ outcomes }) =>
    outcomes.flatMap(({ checkIns }) => checkIns.filter(hasSigns).map(({ atMs }) => atMs)),
  );
  const answeredAfter = (atMs: number) => {
    const later = warnings.flatMap(({ answeredAtMs }) =>
      answeredAtMs !== null && answeredAtMs >= atMs ? [answeredAtMs] : [],
    );
    return later.length === 0 ? null : Math.min(...later);
  };
  const signs = [
    ...warnings.map(({ atMs, answeredAtMs }) => ({ atMs, answeredAtMs })),
    ...ticked.map((atMs) => ({ atMs, answeredAtMs: answeredAfter(atMs) })),
  ];
  return signs.sort((a, b) => a.atMs - b.atMs);
}

function most(values: readonly number[]): number | null {
  return values.length === 0 ? null : Math.max(...values);
}
