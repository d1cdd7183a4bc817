import type { ZoneTable } from '../schedule/zoneTable.js';

const headerBytes = 44;

type Counts = {
  utc: number;
  standard: number;
  leap: number;
  times: number;
  types: number;
  characters: number;
};

/**
 * Parses a compiled zone: TZif, version 1 to 4 (RFC 9636, section 3).
 *
 * @param sinceSeconds changes before this instant are left out, except for the offset that they lead to
 * @returns null if it is not such a file, is cut short, or counts leap seconds, which no computer's clock does
 */
export function readTzif(bytes: Buffer, sinceSeconds = 0): ZoneTable | null {
  try {
    return tableOf(bytes, sinceSeconds);
  } catch (error) {
    // The file is shorter than its header says.
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function tableOf(bytes: Buffer, sinceSeconds: number): ZoneTable | null {
  if (!isTzif(bytes, 0)) return null;
  const first = countsAt(bytes, 0);
  // The first block has four-byte times, for readers of the last century; the second has eight-byte times.
  if (bytes[4] === 0) return blockAt(bytes, headerBytes, first, 4, sinceSeconds, '');
  const second = headerBytes + blockBytes(first, 4);
  if (!isTzif(bytes, second)) return null;
  const counts = countsAt(bytes, second);
  const end = second + headerBytes + blockBytes(counts, 8);
  const footer = /^\n([^\n]*)\n/.exec(bytes.subarray(end).toString('latin1'))?.[1];
  if (footer === undefined) return null;
  return blockAt(bytes, second + headerBytes, counts, 8, sinceSeconds, footer);
}

function isTzif(bytes: Buffer, at: number): boolean {
  return bytes.subarray(at, at + 4).toString('latin1') === 'TZif';
}

function countsAt(bytes: Buffer, at: number): Counts {
  const count = (index: number) => bytes.readUInt32BE(at + 20 + 4 * index);
  return {
    utc: count(0),
    standard: count(1),
    leap: count(2),
    times: count(3),
    types: count(4),
    characters: count(5),
  };
}

function blockBytes({ utc, standard, leap, times, types, characters }: Counts, timeBytes: 4 | 8): number {
  return times * (timeBytes + 1) + types * 6 + characters + leap * (timeBytes + 4) + standard + utc;
}

function blockAt(
  bytes: Buffer,
  at: number,
  { times, types, leap }: Counts,
  timeBytes: 4 | 8,
  sinceSeconds: number,
  footer: string,
): ZoneTable | null {
  if (leap > 0) return null;
  const typesAt = at + times * (timeBytes + 1);
  const offsetOf = (type: number) => {
    if (type >= types) throw new RangeError('a kind of time that there is not');
    return bytes.readInt32BE(typesAt + 6 * type);
  };
  let firstOffsetSeconds = offsetOf(0);
  const changes: [number, number][] = [];
  for (let index = 0; index < times; index += 1) {
    const place = at + timeBytes * index;
    const atSeconds = timeBytes === 4 ? bytes.readInt32BE(place) : Number(bytes.readBigInt64BE(place));
    const offsetSeconds = offsetOf(bytes.readUInt8(at + timeBytes * times + index));
    if (atSeconds < sinceSeconds) firstOffsetSeconds = offsetSeconds;
    else changes.push([atSeconds, offsetSeconds]);
  }
  return { firstOffsetSeconds, changes, footer };
}
