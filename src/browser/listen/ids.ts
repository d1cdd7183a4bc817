/**
 * Returns a new random UUID (RFC 9562, version 4). It also works over plain http, where browsers have no function for
 * it.
 */
export function newId(): string {
  if (typeof crypto.randomUUID === 'function') return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  const hex = Array.from(bytes, (byte, index) => {
    if (index === 6) return (byte & 0x0f) | 0x40;
    return index === 8 ? (byte & 0x3f) | 0x80 : byte;
  }).map((byte) => byte.toString(16).padStart(2, '0'));
  return [hex.slice(0, 4), hex.slice(4, 6), hex.slice(6, 8), hex.slice(8, 10), hex.slice(10)]
    .map((part) => part.join(''))
    .join('-');
}
