import type {
  AdviceKind,
  AdviceReason,
  AdviceSeries,
  Advised,
  Condition,
  ExerciseAdvice,
  PainCourse,
  ProgramAdvice,
} from './adviceParts.js';
import { type PainChange, painBeforeOf, painStandingOn } from './course.js';
import { type DoseSince, dosesSince } from './doseSince.js';
import {
  type DoseSessions,
  type ExerciseEvidence,
  exerciseEvidence,
  sessionsSince,
} from './exerciseConditions.js';
import type { History, ProgramHistory, VersionHistory } from './history.js';
import { type OnLadder, onLadder } from './ladder.js';
import { dayBack, dayNumberAt, type ProgramFacts, recentOutcomes } from './programFacts.js';
import { programReview } from './programReview.js';
import type { ProgramNumbers, Progression, ProgressionRule } from './progression.js';
import { reportsOf, type SessionReport, signsOf } from './reports.js';

/**
 * What a clinician may consider for each active program, and for each exercise of its newest version: the first
 * applicable reason decides, most serious first. The result does not depend on the order of events. Nothing is ever
 * carried out automatically.
 */
export function adviceFor(history: History, progression: Progression): ProgramAdvice[] {
  const { programs, nowMs, zone, unreadNotesAtMs } = history;
  const reports = new Map(programs.map((program) => [program, reportsOf(program)]));
  const signs = signsOf(programs, [...reports.values()].flat());
  const today = dayNumberAt(nowMs, zone);
  const pain = painOfPerson(programs, dayBack(today, 0));
  return programs
    .filter(({ state, versions }) => state === 'active' && versions.length > 0)
    .sort((a, b) => (a.prescriptionId < b.prescriptionId ? -1 : 1))
    .map((program) => {
      const recent = recentOutcomes(program, today, progression.program);
      const own = reports.get(program) ?? [];
      const others = programs
        .filter((other) => other !== program)
        .map((other) => ({ prescriptionId: other.prescriptionId, reports: reports.get(other) ?? [] }));
      const facts = { program, signs, reports: own, others, recent, today, zone, pain };
      return heldByNotes(programAdvice(facts, progression), unreadNotesAtMs.length);
    });
}

/** Pain belongs to the patient, whichever program was played before it was reported. */
function painOfPerson(programs: readonly ProgramHistory[], day: string): PainChange | null {
  const standing = painStandingOn(painBeforeOf(programs.flatMap(({ outcomes }) => outcomes)), day);
  return standing.state === 'compared' ? standing : null;
}

function programAdvice(facts: ProgramFacts, progression: Progression): ProgramAdvice {
  const versions = byNumber(facts.program);
  const newest = versions.at(-1);
  if (newest === undefined) throw new RangeError('a program has at least one version');
  const { review, conditions } = programReview(facts, progression.program);
  const doses = dosesSince(versions);
  const unreadable = { why: 'unreadable', key: `review|unreadable|${newest.number}` } as const;
  const first = review ?? (doses === null ? unreadable : null);
  const exercises =
    first === null
      ? onePerProgram(exerciseAdvices(facts, doses ?? [], progression))
      : underReview(exerciseAdvices(facts, doses ?? [], progression), first.why);
  return {
    prescriptionId: facts.program.prescriptionId,
    title: facts.program.title,
    versionNumber: newest.number,
    whole: first === null ? gravest(exercises, conditions) : { kind: 'review', ...first, conditions },
    exercises,
    series: seriesOf(facts, progression.program),
    painCourse: painCourse(facts.pain),
  };
}

/** A note may contain a reason against a step: no step up is advised before it is read. All other advice stands. */
function heldByNotes(advice: ProgramAdvice, unread: number): ProgramAdvice {
  const condition = { id: 'unread-notes', found: unread, of: null, wanted: 0, bound: 'most' } as const;
  const conditions = [{ ...condition, holds: unread === 0 }, ...advice.whole.conditions];
  if (unread === 0) return { ...advice, whole: { ...advice.whole, conditions } };
  const held = <Any extends Advised>(each: Any): Any =>
    each.kind === 'step-up' ? { ...each, kind: 'stay', why: 'note-unread', key: 'stay|note-unread' } : each;
  return {
    ...advice,
    whole: held({ ...advice.whole, conditions }),
    exercises: advice.exercises.map((each) => {
      const step = held(each);
      return step === each ? each : { ...step, to: null, toName: null };
    }),
  };
}

function byNumber({ versions }: ProgramHistory): VersionHistory[] {
  return [...versions].sort((a, b) => a.number - b.number);
}

type Weighed = { since: DoseSince; ladder: OnLadder; advice: ExerciseAdvice };

function exerciseAdvices(
  facts: ProgramFacts,
  doses: readonly DoseSince[],
  progression: Progression,
): Weighed[] {
  const latest = Math.max(...doses.map(({ sinceVersion }) => sinceVersion));
  // Most exercises have had their dose since the same version.
  const sessions = new Map<number, DoseSessions>();
  return doses.map((since) => {
    const { sinceVersion } = since;
    const own = sessions.get(sinceVersion) ?? sessionsSince(facts, sinceVersion, progression.program);
    sessions.set(sinceVersion, own);
    const ladder = onLadder(since.prescribed);
    const rule = ruleFor(since, progression);
    const others = doses.filter((other) => other !== since && other.sinceVersion > 1);
    const otherChangeMs = others.length === 0 ? null : Math.max(...others.map(({ sinceMs }) => sinceMs));
    const numbers = { program: progression.program, rule: rule.numbers };
    const evidence = exerciseEvidence(facts, since, own, { numbers, otherChangeMs });
    const daysSince = facts.today - dayNumberAt(since.sinceMs, facts.zone);
    const stretch = String(Math.floor(daysSince / progression.program.askAgainDays.value));
    const decided = decide(evidence, ladder, { changedLast: sinceVersion === latest, stretch });
    return { since, ladder, advice: adviceOf(since, ladder, evidence.conditions, decided) };
  });
}

/** A talk has no steps and no rule of its own; its tolerance is judged by the first rule. */
function ruleFor({ prescribed }: DoseSince, { rules }: Progression): ProgressionRule {
  const [usual] = rules.values();
  const rule = rules.get(prescribed.exercise.ladder.progression ?? '') ?? usual;
  if (rule === undefined) throw new RangeError('there is no rule at all');
  return rule;
}

type Decided = Pick<Advised, 'kind' | 'why'> & { mark: string };

/**
 * Answers are about a whole session, not about one exercise. What changed last is the most likely cause of pain, so a
 * step down of that is advised, and the others wait until it is known whether that was enough. Changing several things
 * at once would hide which one it was.
 *
 * @param about.stretch the period, counted since the dose began: a declined step and gradually rising pain are brought
 *   up again in the next one
 */
function decide(
  evidence: ExerciseEvidence,
  { place, next, previous, limits }: OnLadder,
  about: { changedLast: boolean; stretch: string },
): Decided {
  const { changedLast, stretch } = about;
  const { painStays, creptPoints, isTooHard, isAboveEffort, isEffortClimbing, conditions } = evidence;
  const { lastFlareSlot, lastHardSlot } = evidence;
  const decided = (kind: AdviceKind, why: Decided['why'], mark = ''): Decided => ({ kind, why, mark });
  if (painStays || isTooHard) {
    const why = painStays ? 'pain-stays' : 'too-hard';
    if (!changedLast) return decided('stay', 'waits');
    const mark = painStays ? lastFlareSlot : lastHardSlot;
    return decided(previous === null ? 'review' : 'step-down', why, mark ?? '');
  }
  // It persists: an answer covers that many whole points of it, and one period.
  if (creptPoints !== null) return decided('review', 'pain-creeps', `${Math.floor(creptPoints)} ${stretch}`);
  if (place.kind === 'no-steps') return decided('stay', 'no-steps');
  if (place.kind === 'above' || (place.kind === 'on' && place.isTop)) return decided('stay', 'top');
  if (conditions.every(({ holds }) => holds)) {
    if (limits.length > 0) return decided('stay', 'limited');
    return next === null ? decided('review', 'off-ladder', stretch) : decided('step-up', 'all-met', stretch);
  }
  if (isAboveEffort) return decided('stay', 'effort-above');
  return decided('stay', isEffortClimbing ? 'effort-climbs' : 'not-yet');
}

function adviceOf(
  { prescribed, sinceMs }: DoseSince,
  { next, previous, limits }: OnLadder,
  conditions: readonly Condition[],
  { kind, why, mark }: Decided,
): ExerciseAdvice {
  const rung = kind === 'step-up' ? next : kind === 'step-down' ? previous : null;
  const to = rung?.dose ?? null;
  return {
    ...{ kind, why, conditions, sinceMs, to },
    key: [kind, why, mark, to === null ? '' : JSON.stringify(Object.entries(to).sort())].join('|'),
    exerciseIndex: prescribed.index,
    exerciseId: prescribed.exercise.id,
    ruleId: prescribed.exercise.ladder.progression ?? null,
    dose: prescribed.asPrescribed.dose,
    limits,
    toName: rung?.name ?? null,
  };
}

/**
 * Rule ADV-5: at most one step up at a time: several changes at once would hide which one hurt, and a frail body has to
 * bear their sum. The exercise that has waited longest comes first, then the order of the program, so that no exercise
 * climbs its whole ladder before the others have started. No step up at all while something else in the program hurts.
 */
function onePerProgram(weighed: readonly Weighed[]): ExerciseAdvice[] {
  const isGrave = ({ advice }: Weighed) => advice.kind === 'step-down' || isPainReview(advice);
  const chosen = weighed.some(isGrave)
    ? undefined
    : weighed
        .filter(({ advice }) => advice.kind === 'step-up')
        .reduce<Weighed | undefined>(
          (first, each) =>
            first === undefined || each.since.sinceVersion < first.since.sinceVersion ? each : first,
          undefined,
        );
  return weighed.map((each) => {
    const { advice, since, ladder } = each;
    if (advice.kind !== 'step-up' || each === chosen) return advice;
    return adviceOf(since, ladder, advice.conditions, { kind: 'stay', why: 'waits', mark: '' });
  });
}

function isPainReview({ kind, why }: ExerciseAdvice): boolean {
  return kind === 'review' && why !== 'off-ladder';
}

const painReasons: readonly AdviceReason[] = [
  ...(['pain-severe', 'pain-high', 'pain-high-before', 'broken-off'] as const),
  ...(['put-off-unwell', 'pain-worse'] as const),
];

/**
 * While the whole program needs a review, its exercises only say so. If that is because of pain, a step down of what
 * changed last is still offered: pain that lasts for months must not hide it.
 */
function underReview(weighed: readonly Weighed[], why: AdviceReason): ExerciseAdvice[] {
  return weighed.map(({ since, ladder, advice }) =>
    advice.kind === 'step-down' && painReasons.includes(why)
      ? advice
      : adviceOf(since, ladder, advice.conditions, { kind: 'review', why: 'program', mark: '' }),
  );
}

const byGravity: readonly AdviceKind[] = ['review', 'step-down', 'step-up', 'stay'];

function gravest(exercises: readonly ExerciseAdvice[], conditions: readonly Condition[]): Advised {
  for (const kind of byGravity) {
    const first = exercises.find((advice) => advice.kind === kind);
    if (first !== undefined) return { kind, why: first.why, conditions, key: `whole|${kind}` };
  }
  return { kind: 'stay', why: 'no-steps', conditions, key: 'whole|stay' };
}

function seriesOf({ reports, today }: ProgramFacts, numbers: ProgramNumbers): AdviceSeries {
  const from = dayBack(today, numbers.shareDays.value);
  const shown = reports.filter(({ day }) => day >= from);
  const values = (pick: (report: SessionReport) => number | null) =>
    shown.flatMap((report) => {
      const value = pick(report);
      return value === null ? [] : [{ day: report.day, value }];
    });
  return { painAfter: values(({ painAfter }) => painAfter), effort: values(({ effort }) => effort) };
}

const changes = { less: 'better', more: 'worse', within: 'no-real-change' } as const;

function painCourse(pain: PainChange | null): PainCourse | null {
  if (pain === null) return null;
  return { from: pain.before.median, to: pain.now.median, change: changes[pain.kind] };
}
