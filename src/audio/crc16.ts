const polynomial = 0xa001;

const table = Uint16Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit += 1) crc = (crc & 1) === 1 ? (crc >> 1) ^ polynomial : crc >> 1;
  return crc;
});

/** Returns the CRC-16 (polynomial 0x8005, reflected, initial value 0) that the seek header's last two fields use. */
export function crc16(bytes: Uint8Array): number {
  let crc = 0;
  for (const byte of bytes) crc = (crc >> 8) ^ (table[(crc ^ byte) & 0xff] ?? 0);
  return crc;
}

/**
 * Returns the checksum of two byte runs in a row from the checksum of each. No byte is read again, so the cost of a
 * session's checksum depends on its number of segments, not its length.
 */
export function joinCrc16(left: number, right: number, rightBytes: number): number {
  return apply(shiftBy(rightBytes), left) ^ right;
}

/** A linear map of checksums: the image of each of the 16 bits. */
type BitMap = Uint16Array;

const shifts = new Map<number, BitMap>();

/** Returns the map from a checksum to the checksum after this many zero bytes. */
function shiftBy(bytes: number): BitMap {
  const known = shifts.get(bytes);
  if (known !== undefined) return known;
  let result: BitMap = Uint16Array.from({ length: 16 }, (_, bit) => 1 << bit);
  let power: BitMap = result.map((crc) => (crc >> 8) ^ (table[crc & 0xff] ?? 0));
  for (let rest = bytes; rest > 0; rest = Math.floor(rest / 2)) {
    if (rest % 2 === 1) result = compose(power, result);
    power = compose(power, power);
  }
  if (shifts.size > 4096) shifts.clear();
  shifts.set(bytes, result);
  return result;
}

function apply(map: BitMap, crc: number): number {
  let result = 0;
  for (let bit = 0; bit < 16; bit += 1) if (((crc >> bit) & 1) === 1) result ^= map[bit] ?? 0;
  return result;
}

function compose(second: BitMap, first: BitMap): BitMap {
  return first.map((crc) => apply(second, crc));
}
