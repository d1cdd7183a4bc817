import type { Beat, CountPlace } from '../layout.js';

/**
 * The forms that the counts of one part of a repetition can take, from the preferred one to the one that always fits:
 * each second spoken, every other second spoken, or a soft tone on each. All counts of a part have the same form.
 */
type CountForm = 'every' | 'every-second' | 'tones';
export type CountForms = ReadonlyMap<CountPlace['part'], CountForm>;

/** Returns the beats with their counts in the given forms. */
export function inForms(beats: readonly Beat[], forms: CountForms): Beat[] {
  return beats.flatMap((beat): Beat[] => {
    const form = beat.count === undefined ? 'every' : (forms.get(beat.count.part) ?? 'every');
    if (form === 'tones') return [{ ...beat, words: null, tone: 'level' }];
    return form === 'every-second' && (beat.count?.index ?? 0) % 2 === 1 ? [] : [beat];
  });
}

/**
 * Chooses a simpler form for the counts that keep a beat's words from fitting: those of its own part, else of the next
 * spoken beat, else of the previous one. Null when no count is in the way anymore.
 *
 * @param beats the beats in their current forms; the words of the one at `failedAt` do not fit
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

/**
 * Returns whether speaking every other count still leaves a rhythm: at least two beats, including the part's own word.
 */
function isWorthSkipping(beats: readonly Beat[], part: CountPlace['part']): boolean {
  return beats.some(({ count }) => count?.part === part && count.index >= 2);
}
