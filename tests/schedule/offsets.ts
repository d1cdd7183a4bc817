import { useZoneTables } from '../../src/schedule/zoneRules.js';

/**
 * Zones as Intl.DateTimeFormat tells them, found by searching for where its offset changes. Independent of the library
 * under test in everything but the time-zone data itself.
 */

const dayMs = 86_400_000;

/** From `startMs` to `endMs`, exclusive, clocks are `offsetMs` ahead of UTC. */
export type Stretch = { startMs: number; endMs: number; offsetMs: number };

/** From now on the rules go by the data of Node too, whatever ran before in this process. */
export function stretchesOf(zone: string, fromMs: number, toMs: number): Stretch[] {
  useZoneTables(null);
  const offsetAt = offsetsOf(zone);
  const stretches: Stretch[] = [];
  let current = { startMs: fromMs, offsetMs: offsetAt(fromMs) };
  for (let atMs = fromMs; atMs < toMs; atMs += dayMs) {
    const nextMs = Math.min(atMs + dayMs, toMs);
    if (offsetAt(nextMs) === current.offsetMs) continue;
    const changeMs = firstWith((ms) => offsetAt(ms) !== current.offsetMs, atMs, nextMs);
    stretches.push({ ...current, endMs: changeMs });
    current = { startMs: changeMs, offsetMs: offsetAt(changeMs) };
  }
  return [...stretches, { ...current, endMs: toMs }];
}

/**
 * Rule R1 by search: the first instant at which clocks show the time; where they never do, the first at which they
 * show a later one.
 *
 * @param localMs the wall clock, read as if it were UTC
 */
export function firstInstantShowing(localMs: number, stretches: readonly Stretch[]): number {
  const instants = stretches.flatMap(({ startMs, endMs, offsetMs }) => {
    const atMs = Math.max(startMs, localMs - offsetMs);
    return atMs < endMs ? [{ atMs, isExact: atMs + offsetMs === localMs }] : [];
  });
  const found = instants.find(({ isExact }) => isExact) ?? instants[0];
  if (found === undefined) throw new Error('outside of what was searched');
  return found.atMs;
}

function offsetsOf(zone: string): (atMs: number) => number {
  const format = new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
  });
  return (atMs) => {
    const [month, day, year, hour, minute, second] = (format.format(atMs).match(/\d+/g) ?? []).map(Number);
    if (month === undefined || year === undefined) throw new Error(`no date for ${zone}`);
    return Date.UTC(year, month - 1, day, hour, minute, second) - Math.floor(atMs / 1000) * 1000;
  };
}

/** The first whole second between the two for which something holds; it must hold at the second. */
function firstWith(holds: (ms: number) => boolean, fromMs: number, toMs: number): number {
  let [before, after] = [fromMs / 1000, toMs / 1000];
  while (after - before > 1) {
    const middle = Math.floor((before + after) / 2);
    if (holds(middle * 1000)) after = middle;
    else before = middle;
  }
  return after * 1000;
}
