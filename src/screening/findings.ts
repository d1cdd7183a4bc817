import { lyingDownAndGettingUpId } from '../catalogue/adaptation.js';
import type { LoadTag } from '../catalogue/wording.js';
import { precautionsOf, type ScreeningAnswers } from './answers.js';
import { type Interview, measures, type Precaution, type Rule } from './interview.js';

/** What a rule looks at in an exercise. */
export type Loaded = { id: string; loadTags: readonly LoadTag[] };

/** What every session has, whatever its exercises: the way down onto the bed and up again. */
export const lyingDownAndGettingUp: Loaded = {
  id: lyingDownAndGettingUpId,
  loadTags: ['position-change', 'weight-through-arm'],
};

/** A rule that meets exercises of a program, because of a precaution of this person. */
export type Finding = {
  precaution: Pick<Precaution, 'id' | 'name'>;
  rule: Rule;
  /** What the person said, so that a settlement can be held against it. */
  answered: string;
  /** Ids of the exercises it meets, each once, in the order of the program. */
  exercises: readonly string[];
};

/** Whether a rule is about an exercise. */
export function meets(rule: Rule, exercise: Loaded): boolean {
  if (rule.except.includes(exercise.id)) return false;
  return (
    rule.everything ||
    rule.exercises.includes(exercise.id) ||
    exercise.loadTags.some((tag) => rule.loads.includes(tag))
  );
}

/** Rule SCREEN-5: every precaution that meets an exercise, what stops first, then the strictest measure first. */
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
