import { type AdaptationEffect, effectsOf } from '../program/adaptationEffects.js';
import type { PrescribedExercise } from '../program/prescribed.js';
import { doseName, doseValue } from './doseWords.js';

const setUpNames = { surface: 'surface', headSupport: 'head support', knees: 'knees' } as const;

/** Returns what one adaptation changes in an exercise, each change in words for the clinician. */
export function effectInWords({
  doses,
  setUps,
  said,
  isSaidBefore,
  leftOut,
}: Pick<AdaptationEffect, 'doses' | 'setUps' | 'said' | 'isSaidBefore' | 'leftOut'>): string[] {
  return [
    ...doses.map(({ key, ceiling, from, to }) => {
      const limit = `${doseName(key)} at most ${doseValue(key, ceiling)} (was ${doseValue(key, from)})`;
      return to > ceiling ? `${limit}; this exercise allows no less than ${doseValue(key, to)}` : limit;
    }),
    ...setUps.map(({ key, asked, from, to }) => {
      const change = `${setUpNames[key]} ${inWords(asked)} (was ${inWords(from)})`;
      if (to === asked) return change;
      return to === from
        ? `${change}; not possible here`
        : `${change}; ${inWords(to)} for another precaution`;
    }),
    ...(said === null
      ? []
      : [`says ${quoted(said)}${isSaidBefore ? '' : ' in another part of the session'}`]),
    ...leftOut.map((tag) => `leaves out what is said about ${tag.replaceAll('-', ' ')}`),
  ];
}

/** Returns one line for each adaptation of an exercise, by the id of its rule, with what it changes. */
export function adaptationLines(
  prescribed: PrescribedExercise,
): Map<string, { precaution: string; changes: string }> {
  return new Map(
    effectsOf(prescribed).map((effect) => {
      const changes = [...effectInWords(effect), `prints ${quoted(effect.print)}`].join('; ');
      return [effect.ruleId, { precaution: effect.precaution, changes }];
    }),
  );
}

/** Quotes a sentence inside another one, without its period. */
function quoted(sentence: string): string {
  return `“${sentence.replace(/\.$/, '')}”`;
}

function inWords(choice: string): string {
  return choice.replaceAll('-', ' ');
}
