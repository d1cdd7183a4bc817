/** A range of bytes, the last one inclusive, as in RFC 9110, section 14. */
export type Range = { first: number; last: number };

/**
 * Rule RANGE-3: parses a Range header. Returns null when it has to be ignored (another unit, several ranges, invalid
 * syntax); the whole file is then sent, as the RFC allows.
 */
export function rangeOf(header: string | null, byteLength: number): Range | 'unsatisfiable' | null {
  const found = /^bytes=(\d*)-(\d*)$/.exec(header?.trim() ?? '');
  if (found === null) return null;
  const [first, last] = [found[1] ?? '', found[2] ?? ''];
  if (first === '') {
    if (last === '') return null;
    const length = Math.min(Number(last), byteLength);
    return length === 0 ? 'unsatisfiable' : { first: byteLength - length, last: byteLength - 1 };
  }
  if (last !== '' && Number(last) < Number(first)) return null;
  if (Number(first) >= byteLength) return 'unsatisfiable';
  return {
    first: Number(first),
    last: last === '' ? byteLength - 1 : Math.min(Number(last), byteLength - 1),
  };
}
