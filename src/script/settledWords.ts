import type { PrescribedExercise } from '../program/prescribed.js';
import { type Context, say } from './context.js';
import type { Say, Where } from './layout.js';

/**
 * What was settled about precautions, said before what it concerns: in every session, at every coaching density and in
 * every time budget. The same sentence of several rules is said once.
 */
export function saySettled(context: Context, where: Where): Say[] {
  const said = new Set<string>();
  return context.adaptations.flatMap(({ ruleId, adaptation }) => {
    const { say: phrase } = adaptation;
    if (phrase === undefined || said.has(phrase.full)) return [];
    said.add(phrase.full);
    return say(context, 'safety', [phrase], { key: `settled:${ruleId}`, where });
  });
}

/** The same before lying down, unless the exercise that leads down says it. */
export function saySettledGoingDown(context: Context): Say[] {
  const [first] = context.program.exercises;
  return saySettled(notSaidIn(context, first !== undefined && leadsDown(first) ? [first] : []), {});
}

/** The same before getting up after the session, unless the exercises that lead up have said it. */
export function saySettledGettingUp(context: Context): Say[] {
  return saySettled(notSaidIn(context, context.program.exercises.filter(leadsUp)), {});
}

function leadsDown({ exercise: { path } }: PrescribedExercise): boolean {
  return path.from.position !== 'supine' && path.to?.position === 'supine';
}

function leadsUp({ exercise: { path } }: PrescribedExercise): boolean {
  const { from, to } = path;
  if (to === undefined || to.position === from.position) return false;
  return to.position === 'standing' || (to.position === 'sitting-on-edge' && from.position !== 'standing');
}

function notSaidIn(context: Context, exercises: readonly PrescribedExercise[]): Context {
  const said = exercises.flatMap(({ adaptations }) => adaptations.map(({ ruleId }) => ruleId));
  return { ...context, adaptations: context.adaptations.filter(({ ruleId }) => !said.includes(ruleId)) };
}
