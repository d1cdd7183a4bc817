import type { Beat, CountPlace } from '../layout.js';

/**
 * How the counts of one part of a repetition are given, from the preferred form to the one that always fits: every
 * second spoken, every second one spoken, a soft tone on each. All counts of a part have the same form.
 */
type CountForm = 'every' | 'every-second' | 'tones';
export type CountForms = ReadonlyMap<CountPlace['part'], CountForm>;

/** The beats with their counts in these forms. */
export function inForms(beats: readonly Beat[], forms: CountForms): Beat[] {
  return beats.flatMap((beat): Beat[] => {
    const form = beat.count === undefined ? 'every' : (forms.get(beat.count.part) ?? 'every');
    if (form === 'tones') return [{ ...beat, words: null, tone: 'level' }];
    return form === 'every-second' && (beat.count?.index ?? 0) % 2 === 1 ? [] : [beat];
  });
}

/**
 * The next form for the counts that stand in the way of a beat's words: its own part's, else those of the spoken beat
 * after it, else those of the one before it. Null when no count is in the way any longer.
 *
 * @param beats in their present forms; the one at `failedAt` has no room
 */
export function simplerForms(
  all: readonly Beat[],
  beats: readonly Beat[],
  failedAt: number,
  forms: CountForms,
): CountForms | null {
  const isSpoken = ({ words }: Beat) => words !== null;
  const near = [
    beats[failedAt],
    beats.slice(failedAt + 1).find(isSpoken),
    beats.slice(0, failedAt).findLast(isSpoken),
  ];
  const part = near.flatMap((beat) => (beat?.words && beat.count ? [beat.count.part] : []))[0];
  if (part === undefined) return null;
  const skips = forms.get(part) === undefined && isWorthSkipping(all, part);
  return new Map([...forms, [part, skips ? 'every-second' : 'tones']]);
}

/** With every second one spoken there must be a rhythm left: two beats at least, the part's own word among them. */
function isWorthSkipping(beats: readonly Beat[], part: CountPlace['part']): boolean {
  return beats.some(({ count }) => count?.part === part && count.index >= 2);
}
