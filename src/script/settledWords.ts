import { adaptationsOfTheWay } from '../program/adapt.js';
import type { AppliedAdaptation, PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import { spokenAdaptations, spokenInOpening } from '../program/spokenAdaptations.js';
import { type Context, say } from './context.js';
import type { Say, Where } from './layout.js';
import type { AdjustmentNote } from './place/timeline.js';

/**
 * Returns the sentences for settled precautions, spoken before the exercise they concern: in every session, at every
 * coaching density and in every time budget.
 */
export function saySettled(context: Context, where: Where): Say[] {
  return sayEach(context, spokenAdaptations(context.adaptations).before, where);
}

/** Returns those spoken before lying down, except any that the exercise leading down speaks itself. */
export function saySettledGoingDown(context: Context): Say[] {
  const [first] = context.program.exercises;
  return sayOnTheWay(context, first !== undefined && leadsDown(first) ? [first] : []);
}

/** Returns those spoken before getting up after the session, except any that the exercises leading up have spoken. */
export function saySettledGettingUp(context: Context): Say[] {
  return sayOnTheWay(context, context.program.exercises.filter(leadsUp));
}

/**
 * Returns those spoken in the opening with its other cautions, because there is no room for them just before what they
 * concern.
 */
export function saySettledInOpening(context: Context): Say[] {
  return sayEach(context, spokenInOpening(context.program), {});
}

/** Returns notes that tell the clinician which sentences are not spoken just before what they concern. */
export function settledNotes(program: PrescribedProgram): AdjustmentNote[] {
  const inOpening = spokenInOpening(program).map(sentenceOf);
  const noteOf = (adaptations: readonly AppliedAdaptation[], exercise?: string): AdjustmentNote[] => {
    const { before, elsewhere } = spokenAdaptations(adaptations);
    if (elsewhere.length === 0) return [];
    const sentences = elsewhere.map(sentenceOf);
    const opening = sentences.filter((sentence) => inOpening.includes(sentence));
    const others = sentences.filter((sentence) => !inOpening.includes(sentence));
    const values = {
      spoken: before.length,
      total: before.length + elsewhere.length,
      ...(opening.length === 0 ? {} : { opening: quoted(opening) }),
      ...(others.length === 0 ? {} : { others: quoted(others) }),
    };
    return [{ kind: 'precautions-elsewhere', ...(exercise === undefined ? {} : { exercise }), values }];
  };
  const exercises = new Map(program.exercises.map((each) => [each.exercise.id, each.adaptations]));
  return [
    ...[...exercises].flatMap(([id, adaptations]) => noteOf(adaptations, id)),
    ...noteOf(adaptationsOfTheWay(program)),
  ];
}

function sayOnTheWay(context: Context, speaking: readonly PrescribedExercise[]): Say[] {
  const alreadySpoken = speaking.flatMap(({ adaptations }) =>
    spokenAdaptations(adaptations).before.map(sentenceOf),
  );
  const { before } = spokenAdaptations(context.adaptations);
  return sayEach(
    context,
    before.filter((each) => !alreadySpoken.includes(sentenceOf(each))),
    {},
  );
}

function sayEach(context: Context, adaptations: readonly AppliedAdaptation[], where: Where): Say[] {
  return adaptations.flatMap(({ ruleId, adaptation: { say: phrase } }) =>
    phrase === undefined ? [] : say(context, 'safety', [phrase], { key: `settled:${ruleId}`, where }),
  );
}

function sentenceOf({ adaptation }: AppliedAdaptation): string {
  return adaptation.say?.full ?? '';
}

function quoted(sentences: readonly string[]): string {
  return sentences.map((sentence) => `“${sentence}”`).join(' ');
}

function leadsDown({ exercise: { path } }: PrescribedExercise): boolean {
  return path.from.position !== 'supine' && path.to?.position === 'supine';
}

function leadsUp({ exercise: { path } }: PrescribedExercise): boolean {
  const { from, to } = path;
  if (to === undefined || to.position === from.position) return false;
  return to.position === 'standing' || (to.position === 'sitting-on-edge' && from.position !== 'standing');
}
