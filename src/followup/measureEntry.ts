import type { Measure } from './measures.js';
import { type Reading, readTyped, type TypedValue, type Unreadable } from './typedValue.js';
import { roundBinaryError } from './units.js';

/** The result of reading a typed value; values are in the unit of the measure. */
export type Entry =
  | { kind: 'refused'; why: Unreadable | 'not-whole' | 'not-plausible' }
  /** Ask which one is meant. */
  | { kind: 'several'; readings: readonly [Reading, ...Reading[]] }
  /** Ask for confirmation: it is unusual, or far from the previous value. */
  | { kind: 'unusual'; value: number; why: 'range' | 'step' }
  | { kind: 'usual'; value: number };

/**
 * Judges a value typed for a measure. It is read, questioned, or refused, but never changed.
 *
 * @param lastValue the previous value, or null
 */
export function judgeEntry(measure: Measure, typed: string, lastValue: number | null): Entry {
  const read = readMeasure(typed, measure);
  if (read.kind === 'none') return { kind: 'refused', why: read.why };
  if (read.kind === 'several') return read;
  const { value } = read;
  const { plausible, usual, decimals } = measure;
  if (value < plausible.least || value > plausible.most) return { kind: 'refused', why: 'not-plausible' };
  if (decimals === 0 && !Number.isInteger(value)) return { kind: 'refused', why: 'not-whole' };
  if (value < usual.least || value > usual.most) return { kind: 'unusual', value, why: 'range' };
  const isFar =
    lastValue !== null &&
    roundBinaryError(Math.abs(value - lastValue)) > (usual.step ?? Number.POSITIVE_INFINITY);
  return isFar ? { kind: 'unusual', value, why: 'step' } : { kind: 'usual', value };
}

/** Slower and faster than anyone who is measured: bounds for reading a time. */
const timedSeconds = { least: 0.1, most: 3600 };

/** Reads a value; seconds over a distance become a speed. */
function readMeasure(typed: string, measure: Measure): TypedValue {
  const read = readTyped(typed, measure);
  const { timedOverMeters } = measure;
  if (timedOverMeters === undefined || read.kind !== 'none' || read.why !== 'unknown-unit') return read;
  const time = readTyped(typed, { unit: 's', otherUnits: ['min'], plausible: timedSeconds });
  if (time.kind === 'none' || (time.kind === 'one' && time.value <= 0)) return time;
  const speedOf = (seconds: number) => roundBinaryError(timedOverMeters / seconds);
  if (time.kind === 'one') return { kind: 'one', value: speedOf(time.value) };
  const [first, ...others] = time.readings;
  const asSpeed = ({ value, text }: Reading): Reading => ({ value: speedOf(value), text });
  return { kind: 'several', readings: [asSpeed(first), ...others.map(asSpeed)] };
}
