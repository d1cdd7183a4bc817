/**
 * Chooses among wordings that mean the same. The choice depends only on its key and on the session number, so that
 * adding an exercise does not reshuffle the others.
 *
 * Rule S10: the same program, voice and seed give the same script.
 */

/**
 * Where a key starts among the choices; each further session takes the next one, so that two neighboring sessions
 * never choose the same wording where there are two or more.
 *
 * @param count how many choices there are
 * @param sessionNumber counts from 1
 * @param key what is being chosen for, for example seed, exercise and repetition
 * @returns an index from 0 to `count - 1`, evenly spread over keys
 */
export function choose(count: number, sessionNumber: number, ...key: readonly (string | number)[]): number {
  return (hash(key.join('|')) + sessionNumber) % count;
}

/**
 * Where a session starts in a pool of reminders that are said one after the other: half a pool further on than the
 * session before, so that most of what is said has rested for a session.
 */
export function chooseStart(
  count: number,
  sessionNumber: number,
  ...key: readonly (string | number)[]
): number {
  return (hash(key.join('|')) + sessionNumber * Math.max(1, Math.floor(count / 2))) % count;
}

/** FNV-1a, 32 bit, with a final mix so that keys that differ in the last sign alone also spread. */
function hash(text: string): number {
  let value = 0x811c9dc5;
  for (let index = 0; index < text.length; index++) {
    value = Math.imul(value ^ text.charCodeAt(index), 0x01000193);
  }
  value = Math.imul(value ^ (value >>> 16), 0x7feb352d);
  value = Math.imul(value ^ (value >>> 15), 0x846ca68b);
  return (value ^ (value >>> 16)) >>> 0;
}
