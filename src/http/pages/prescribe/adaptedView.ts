import { effectInWords } from '../../../prescription/adaptationWords.js';
import { adaptProgram, spokenAdaptationText } from '../../../program/adapt.js';
import { effectsOf } from '../../../program/adaptationEffects.js';
import type {
  AppliedAdaptation,
  PrescribedExercise,
  PrescribedProgram,
} from '../../../program/prescribed.js';
import { type Finding, lyingDownAndGettingUp } from '../../../screening/findings.js';
import { hasText } from '../../../screening/hasText.js';
import type { Settlements } from '../../../screening/settlements.js';
import type { Words } from '../../../text/words.js';

/** Changes to a program because of its precautions: listed once if they are the same in several exercises. */
export function mergeAdaptations(exercises: readonly PrescribedExercise[]): object[] {
  const together = new Map<string, { precaution: string; changes: string; print: string; names: string[] }>();
  for (const prescribed of exercises) {
    for (const effect of effectsOf(prescribed)) {
      const changes = effectInWords(effect).join('; ');
      const key = JSON.stringify([effect.ruleId, changes]);
      const { name } = prescribed.exercise;
      const known = together.get(key);
      if (known === undefined)
        together.set(key, { precaution: effect.precaution, changes, print: effect.print, names: [name] });
      else if (!known.names.includes(name)) known.names.push(name);
    }
  }
  return [...together.values()].map(({ names, ...spokenText }) => ({
    ...spokenText,
    names: names.join(', '),
  }));
}

/** Changes to an exercise, and the precaution behind each. */
export function adaptedView(prescribed: PrescribedExercise): object[] {
  return effectsOf(prescribed).map((effect) => ({
    precaution: effect.precaution,
    changes: effectInWords(effect).join('; '),
    print: effect.print,
  }));
}

/**
 * What following a rule changes in a program, and whether it does so now; null for a rule that changes nothing in it.
 *
 * @param program in its current state, with resolutions applied; null while it cannot be read
 */
export function ruleChangesView(
  { rule, precaution, exercises }: Finding,
  program: PrescribedProgram | null,
  settlements: Settlements,
  words: Words,
): object | null {
  const { id: ruleId, measure, adapt: adaptation } = rule;
  if (program === null || adaptation === undefined || measure === 'leave-out') return null;
  const applied: AppliedAdaptation = { ruleId, precaution: precaution.name, measure, adaptation, exercises };
  const isActing = program.adaptations.some((each) => each.ruleId === ruleId);
  const spokenText = spokenAdaptationText(program, applied, program.setUp);
  const saidOnTheWay = effectInWords({
    doses: [],
    setUps: [],
    leftOut: [],
    said: spokenText,
    isSaidBefore: true,
  });
  const onTheWay = exercises.includes(lyingDownAndGettingUp.id)
    ? [{ name: words.lyingDownAndGettingUp, changes: saidOnTheWay }]
    : [];
  // Alone, so that changes from other rules are not attributed to this one.
  const inExercises = adaptProgram(program, [applied]).exercises.flatMap((prescribed) =>
    effectsOf(prescribed).map((effect) => ({
      name: prescribed.exercise.name,
      changes: effectInWords(effect),
    })),
  );
  return {
    isActing,
    isDeclined: hasText(settlements[ruleId]?.reason ?? ''),
    lines: grouped([...onTheWay, ...inExercises]),
    print: adaptation.print,
  };
}

/** Groups exercises with the same changes; exercises without changes are left out. */
function grouped(changed: readonly { name: string; changes: readonly string[] }[]): object[] {
  const namesOf = new Map<string, string[]>();
  for (const { name, changes } of changed) {
    if (changes.length === 0) continue;
    const text = changes.join('; ');
    namesOf.set(text, [...(namesOf.get(text) ?? []), name]);
  }
  return [...namesOf].map(([changes, names]) => ({ names: [...new Set(names)].join(', '), changes }));
}
