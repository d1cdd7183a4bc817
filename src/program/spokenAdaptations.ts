import type { SpokenAs } from '../catalogue/adaptation.js';
import { adaptationsOfTheWay } from './adapt.js';
import type { AppliedAdaptation, PrescribedProgram } from './prescribed.js';

/**
 * Rule S14: at most this many sentences about precautions are spoken just before one exercise, beside the clinician's
 * own note: no one keeps more in mind while getting ready to move. Our choice, no source.
 */
const mostAtOnce = 2;

/** From what is said first: what would be done wrongly without it, then a sign to stop for, then how it is done. */
const speakingOrder: readonly SpokenAs[] = ['limit', 'stop', 'manner'];

/** The sentences about precautions that concern one exercise, or the way down and up. */
export type SpokenAdaptations = {
  /** Spoken just before it, */
  before: readonly AppliedAdaptation[];
  /** and those for which there is no room there: spoken before another exercise, or in the opening. */
  elsewhere: readonly AppliedAdaptation[];
};

/** Chooses what is spoken just before an exercise; the same sentence of several rules is one. */
export function spokenAdaptations(adaptations: readonly AppliedAdaptation[]): SpokenAdaptations {
  const different = new Map<string, AppliedAdaptation>();
  for (const each of speakingOrder.flatMap((kind) =>
    adaptations.filter(({ adaptation }) => adaptation.sayAs === kind),
  )) {
    const text = each.adaptation.say?.full;
    if (text !== undefined && !different.has(text)) different.set(text, each);
  }
  const all = [...different.values()];
  return { before: all.slice(0, mostAtOnce), elsewhere: all.slice(mostAtOnce) };
}

/** Whether the sentence of an adaptation is spoken just before the exercise that has these adaptations. */
export function isSpokenBefore(
  { adaptation }: AppliedAdaptation,
  all: readonly AppliedAdaptation[],
): boolean {
  return spokenAdaptations(all).before.some((each) => each.adaptation.say?.full === adaptation.say?.full);
}

/**
 * What found no room before any exercise, nor before lying down and getting up: spoken once in the opening, so that no
 * sentence is lost.
 */
export function spokenInOpening(program: PrescribedProgram): AppliedAdaptation[] {
  const places = [
    ...program.exercises.map(({ adaptations }) => adaptations),
    adaptationsOfTheWay(program),
  ].map(spokenAdaptations);
  const spokenSentences = new Set(
    places.flatMap(({ before }) => before.map(({ adaptation }) => adaptation.say?.full)),
  );
  const left = places.flatMap(({ elsewhere }) => elsewhere);
  return left.filter(({ adaptation: { say } }, index) => {
    const isFirst = left.findIndex((other) => other.adaptation.say?.full === say?.full) === index;
    return isFirst && !spokenSentences.has(say?.full);
  });
}
