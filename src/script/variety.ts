/**
 * Chooses among wordings that mean the same. The choice depends only on its key and the session number, so that adding
 * an exercise does not reshuffle the others.
 *
 * Rule S10: the same program, voice and seed give the same script.
 */

/**
 * Chooses one of `count` wordings. Each session takes the one after the previous session's, so that two consecutive
 * sessions never use the same wording where there are two or more.
 *
 * @param count how many choices there are
 * @param sessionNumber counts from 1
 * @param key identifies what the choice is for, for example seed, exercise and repetition
 * @returns an index from 0 to `count - 1`, evenly spread over keys
 */
export function choose(count: number, sessionNumber: number, ...key: readonly (string | number)[]): number {
  return (hash(key.join('|')) + sessionNumber) % count;
}

/**
 * Returns where a session starts in a pool of reminders that are spoken in turn: half a pool further on than the
 * previous session, so that most of them were not heard in the last session.
 */
export function chooseStart(
  count: number,
  sessionNumber: number,
  ...key: readonly (string | number)[]
): number {
  return (hash(key.join('|')) + sessionNumber * Math.max(1, Math.floor(count / 2))) % count;
}

/** Hashes with 32-bit FNV-1a and a final mix, so that keys that differ only in the last character also spread. */
function hash(text: string): number {
  let value = 0x811c9dc5;
  for (let index = 0; index < text.length; index++) {
    value = Math.imul(value ^ text.charCodeAt(index), 0x01000193);
  }
  value = Math.imul(value ^ (value >>> 16), 0x7feb352d);
  value = Math.imul(value ^ (value >>> 15), 0x846ca68b);
  return (value ^ (value >>> 16)) >>> 0;
}
