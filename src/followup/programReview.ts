import { isoDayIn } from '../schedule/wallClock.js';
import type { AdviceReason, Advised, Condition } from './adviceParts.js';
import type { Outcome } from './history.js';
import { brokenOffCheck, painHighChecks, painWorseChecks, putOffCheck } from './painReview.js';
import {
  type Check,
  dayBack,
  dayNumber,
  dayNumberAt,
  type ProgramFacts,
  shareDone,
  stretchOf,
} from './programFacts.js';
import type { ProgramNumbers } from './progression.js';

/**
 * What has to be reviewed before any dose of a program changes, most serious first; null if nothing has. Some of it is
 * no one's fault: a patient who is inactive, or does little, needs a conversation and not a lower dose.
 */
export function programReview(
  facts: ProgramFacts,
  numbers: ProgramNumbers,
): { review: Pick<Advised, 'why' | 'key'> | null; conditions: readonly Condition[] } {
  const checks = [
    ...signChecks(facts, numbers),
    contradictionCheck(facts, numbers),
    ...painHighChecks(facts, numbers),
    brokenOffCheck(facts, numbers),
    putOffCheck(facts, numbers),
    ...painWorseChecks(facts, numbers),
    quietCheck(facts, numbers),
    ...shareCheck(facts, numbers),
  ];
  const failed = checks.filter(({ condition }) => !condition.holds);
  const [first] = failed;
  // Whatever comes in addition is brought up even while something more serious comes first.
  const key = ['review', ...failed.map(({ why, mark }) => `${why} ${mark}`)].join('|');
  return {
    review: first === undefined ? null : { why: first.why, key },
    conditions: checks.map(({ condition }) => condition),
  };
}

/** Rule ADV-3: a sign that is open, recent, or answered since the last signature holds every step. */
function signChecks({ signs, program, today, zone }: ProgramFacts, numbers: ProgramNumbers): Check[] {
  const open = signs.filter(({ answeredAtMs }) => answeredAtMs === null).length;
  const last = signs.at(-1);
  const mark = String(last?.atMs ?? '');
  const check = (why: AdviceReason, condition: Omit<Condition, 'of'>): Check => ({
    why,
    mark,
    condition: { of: null, ...condition },
  });
  const isOpen = check('sign-open', {
    ...{ id: 'open-signs', found: open, wanted: 0, bound: 'most' },
    holds: open === 0,
  });
  if (last === undefined) return [isOpen];
  const days = today - dayNumberAt(last.atMs, zone);
  const signedAtMs = Math.max(...program.versions.map((version) => version.signedAtMs));
  const answered = signs.flatMap(({ answeredAtMs }) => answeredAtMs ?? []);
  // A version signed after she answered a sign was signed with knowledge of it; before that, the dose is the one at
  // which it occurred.
  const signedSince = answered.every((atMs) => atMs <= signedAtMs) ? 1 : 0;
  const signDays = numbers.signDays.value;
  return [
    isOpen,
    check('sign-recent', {
      ...{ id: 'days-since-sign', found: days, wanted: signDays, bound: 'least' },
      holds: days >= signDays,
    }),
    check('sign-since', {
      ...{ id: 'signed-since-sign', found: signedSince, wanted: 1, bound: 'least' },
      holds: signedSince === 1,
    }),
  ];
}

function contradictionCheck({ reports, program, today }: ProgramFacts, numbers: ProgramNumbers): Check {
  const from = dayBack(today, numbers.agreeDays.value);
  const reported = reports.filter(({ isContradictory, day }) => isContradictory && day > from);
  const others = program.outcomes.filter(({ isContradictory, day }) => isContradictory && day > from);
  const slots = [...reported.map(({ outcome }) => outcome), ...others].map(({ slot }) => slot);
  const found = new Set(slots).size;
  return {
    why: 'contradictory',
    mark: slots.sort().at(-1) ?? '',
    condition: { id: 'contradictions', found, of: null, wanted: 0, bound: 'most', holds: found === 0 },
  };
}

/** Days with nothing scheduled do not count as inactive. */
function quietCheck({ program, today, zone }: ProgramFacts, numbers: ProgramNumbers): Check {
  const firstMs = Math.min(...program.versions.map(({ signedAtMs }) => signedAtMs));
  let last = isoDayIn(firstMs, zone);
  for (const outcome of program.outcomes)
    if (outcome.day > last && isAnsweredFor(outcome)) last = outcome.day;
  const yesterday = dayBack(today, 1);
  const since = program.outcomes.filter(({ day }) => day > last && day <= yesterday);
  const wantedDays = new Set(since.filter(({ kind }) => kind === 'missed').map(({ day }) => day));
  const otherDays = new Set(since.map(({ day }) => day).filter((day) => !wantedDays.has(day)));
  const restDays = [...otherDays].filter((day) => isRest(since, day)).length;
  const found = wantedDays.size === 0 ? 0 : Math.max(0, today - dayNumber(last) - 1 - restDays);
  const most = numbers.quietDays.value - 1;
  return {
    why: 'gone-quiet',
    mark: last,
    condition: { id: 'quiet-days', found, of: null, wanted: most, bound: 'most', holds: found <= most },
  };
}

function isAnsweredFor({ kind, checkIns, putOff }: Outcome): boolean {
  return kind === 'done' || kind === 'partly' || checkIns.length > 0 || putOff !== null;
}

function isRest(outcomes: readonly Outcome[], day: string): boolean {
  return outcomes.every((each) => each.day !== day || each.excuse === 'off-plan' || each.excuse === 'unwell');
}

/**
 * Too little only if even the upper end of the interval is below the target: sparse data is not evidence against
 * anyone.
 */
function shareCheck(facts: ProgramFacts, numbers: ProgramNumbers): Check[] {
  const { of, share } = shareDone(facts);
  if (share === null) return [];
  const wanted = numbers.leastShareDone.value;
  return [
    {
      why: 'too-little-done',
      mark: stretchOf(facts.today, numbers.askAgainDays.value),
      condition: {
        id: 'share-possible',
        found: share.high,
        of,
        wanted,
        bound: 'least',
        holds: share.high >= wanted,
      },
    },
  ];
}
