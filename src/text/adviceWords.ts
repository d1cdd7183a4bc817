import Mustache from 'mustache';
import type { Condition, ConditionId, ExerciseAdvice } from '../followup/adviceParts.js';
import type { NumberSource, ProgramNumbers, Progression, RuleNumbers } from '../followup/progression.js';
import { doseName, doseValue } from '../prescription/doseWords.js';
import type { Words } from './words.js';

/** The number in the rules that supplies each condition's target. */
const numberOf: Readonly<Record<ConditionId, keyof ProgramNumbers | keyof RuleNumbers | null>> = {
  'unread-notes': null,
  'open-signs': null,
  'days-since-sign': 'signDays',
  'signed-since-sign': null,
  contradictions: 'agreeDays',
  'severest-pain': 'severePain',
  'high-pain-days': 'reviewPain',
  'high-pain-before-days': 'reviewPain',
  'broken-off-in-a-row': 'brokenOff',
  'steepest-rise': 'reviewRise',
  'unwell-days': 'unwellTimes',
  'pain-since-begin': 'importantPainPoints',
  'quiet-days': 'quietDays',
  'share-possible': 'leastShareDone',
  flares: 'flares',
  'pain-course': 'importantPainPoints',
  'too-hard-in-a-row': 'tooMuchEffort',
  'effort-course': 'effortRise',
  days: 'leastDays',
  'other-change': 'leastDays',
  share: 'leastShareDone',
  sessions: 'sessionsInARow',
  gap: 'gapDays',
  'all-done': null,
  answered: null,
  'rise-on-day': 'importantPainPoints',
  'rise-after': null,
  'pain-before': 'reviewPain',
  pain: 'mostPain',
  effort: 'mostEffort',
};

/** Conditions for which the limit itself is already too much. */
const lessThanIds: readonly ConditionId[] = [
  'pain-course',
  'pain-since-begin',
  'steepest-rise',
  'severest-pain',
  'effort-course',
  'pain-before',
  'rise-on-day',
];

/** Returns a row of the table of conditions. */
export function conditionView(
  condition: Condition,
  { words, progression, ruleId }: { words: Words; progression: Progression; ruleId: string | null },
): object {
  const { id, found, of, wanted, bound, holds } = condition;
  const isShare = id === 'share' || id === 'share-possible';
  const isLess = lessThanIds.includes(id);
  const isCount = id === 'all-done' || id === 'answered';
  return {
    name: words.advice.conditions[id],
    isKnown: found !== null,
    found: found === null ? '' : shown(found, isShare),
    of,
    isLeast: bound === 'least' && !isCount,
    isMost: bound === 'most' && !isLess,
    isLess,
    isAll: isCount,
    wanted: shown(wanted, isShare),
    holds,
    source: sourceOf(id, progression, ruleId)?.text ?? null,
  };
}

function sourceOf(
  id: ConditionId,
  { program, rules }: Progression,
  ruleId: string | null,
): NumberSource | null {
  const name = numberOf[id];
  if (name === null) return null;
  const rule: Partial<Record<string, { source: NumberSource }>> = rules.get(ruleId ?? '')?.numbers ?? {};
  const whole: Partial<Record<string, { source: NumberSource }>> = program;
  return (whole[name] ?? rule[name])?.source ?? null;
}

/** Averages of pain are shown to one decimal place. */
function shown(value: number, isShare: boolean): string {
  return isShare ? `${Math.round(100 * value)}%` : String(Math.round(10 * value) / 10);
}

/** Describes what changes when the clinician follows the advice, such as "repetitions 10 → 15". */
export function changesInWords({ dose, to }: ExerciseAdvice): string {
  return Object.entries(to ?? {})
    .filter(([key, value]) => dose[key] !== value)
    .map(([key, value]) => `${doseName(key)} ${doseValue(key, dose[key] ?? 0)} → ${doseValue(key, value)}`)
    .join(', ');
}

/**
 * Returns the reason that the form suggests: the rule's numbers as they were found. The clinician can write her own.
 */
export function reasonOf(advice: ExerciseAdvice, name: string, words: Words): string {
  const found = (id: ConditionId) => advice.conditions.find((each) => each.id === id);
  const share = found('share');
  const view = {
    name,
    changes: changesInWords(advice),
    why: words.advice.reasons[advice.why],
    done: shown(share?.found ?? 0, true),
    of: share?.of ?? 0,
    effort: found('effort')?.found ?? '',
    pain: found('pain')?.found ?? '',
  };
  const template = advice.kind === 'step-up' ? words.advice.reasonUp : words.advice.reasonDown;
  return Mustache.render(template, view, {}, { escape: (value: unknown) => String(value) });
}
