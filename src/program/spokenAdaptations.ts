import type { SpokenAs } from '../catalogue/adaptation.js';
import { adaptationsOfTheWay } from './adapt.js';
import type { AppliedAdaptation, PrescribedProgram } from './prescribed.js';

/**
 * Rule S14: at most this many sentences about precautions are spoken just before one exercise, in addition to the
 * clinician's own note, because nobody remembers more while getting ready to move. Our choice, no source.
 */
const mostAtOnce = 2;

/**
 * The order of speaking: first a limit that would otherwise be exceeded, then a sign to stop for, then how to do it.
 */
const speakingOrder: readonly SpokenAs[] = ['limit', 'stop', 'manner'];

/** The sentences about precautions for one exercise, or for lying down and getting up. */
export type SpokenAdaptations = {
  /** Spoken just before it, */
  before: readonly AppliedAdaptation[];
  /** and those that do not fit there, spoken before another exercise or in the opening. */
  elsewhere: readonly AppliedAdaptation[];
};

/** Chooses the sentences spoken just before an exercise; the same sentence of several rules is spoken once. */
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

/** Returns whether an adaptation's sentence is spoken just before the exercise that has these adaptations. */
export function isSpokenBefore(
  { adaptation }: AppliedAdaptation,
  all: readonly AppliedAdaptation[],
): boolean {
  return spokenAdaptations(all).before.some((each) => each.adaptation.say?.full === adaptation.say?.full);
}

/**
 * Returns the sentences that fit neither before any exercise nor before lying down and getting up. They are spoken once
 * in the opening, so that no sentence is lost.
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
