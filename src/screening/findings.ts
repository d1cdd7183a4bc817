import { lyingDownAndGettingUpId } from '../catalogue/adaptation.js';
import type { LoadTag } from '../catalogue/wording.js';
import { precautionsOf, type ScreeningAnswers } from './answers.js';
import { type Interview, measures, type Precaution, type Rule } from './interview.js';

/** The parts of an exercise that rules look at. */
export type Loaded = { id: string; loadTags: readonly LoadTag[] };

/** The part that every session has, whatever its exercises: lying down on the bed and getting up again. */
export const lyingDownAndGettingUp: Loaded = {
  id: lyingDownAndGettingUpId,
  loadTags: ['position-change', 'weight-through-arm'],
};

/** A rule that applies to exercises of a program because of this patient's precaution. */
export type Finding = {
  precaution: Pick<Precaution, 'id' | 'name'>;
  rule: Rule;
  /** The patient's answer, so that a settlement can be compared with it. */
  answered: string;
  /** The ids of the exercises that it applies to, each once, in program order. */
  exercises: readonly string[];
};

/** Returns whether a rule applies to an exercise. */
export function meets(rule: Rule, exercise: Loaded): boolean {
  if (rule.except.includes(exercise.id)) return false;
  return (
    rule.everything ||
    rule.exercises.includes(exercise.id) ||
    exercise.loadTags.some((tag) => rule.loads.includes(tag))
  );
}

/**
 * Rule SCREEN-5: every precaution that applies to an exercise, those that stop everything first, then the strictest
 * measure first.
 */
export function findingsOf(
  answers: ScreeningAnswers,
  exercises: readonly Loaded[],
  interview: Interview,
): Finding[] {
  const found = precautionsOf(answers, interview).flatMap(({ id, name, rules }) =>
    rules.flatMap((rule): Finding[] => {
      const met = exercises.filter((exercise) => meets(rule, exercise)).map((exercise) => exercise.id);
      return met.length === 0
        ? []
        : [
            {
              precaution: { id, name },
              rule,
              answered: answeredTo(answers, id),
              exercises: [...new Set(met)],
            },
          ];
    }),
  );
  const ordered = measures.flatMap((measure) => found.filter(({ rule }) => rule.measure === measure));
  return [...ordered.filter(({ rule }) => rule.stop), ...ordered.filter(({ rule }) => !rule.stop)];
}

function answeredTo(answers: ScreeningAnswers, precautionId: string): string {
  const { answer, details } = answers[precautionId] ?? { answer: 'no', details: '' };
  return details === '' ? answer : `${answer}: ${details}`;
}
