/** Lines of iCalendar text (RFC 5545). */

const mostOctets = 75;

/**
 * Returns one content line, folded, with its line break (section 3.1). The value is not escaped; use `textOf` for text.
 */
export function line(name: string, value: string): string {
  return `${folded(`${name}:${value}`)}\r\n`;
}

/** Returns a component with its content. */
export function component(name: string, content: string): string {
  return `${line('BEGIN', name)}${content}${line('END', name)}`;
}

/**
 * Escapes text as a value of type TEXT (section 3.3.11), with line ends of any kind as ` `. Removes control characters
 * and lone surrogates, which are not allowed there.
 */
export function textOf(text: string): string {
  return text
    .replace(/\r\n?/g, '\n')
    .replace(/[^\t\n\u0020-\u007E\u0080-\uD7FF\uE000-\uFFFF\u{10000}-\u{10FFFF}]/gu, '')
    .replace(/[\\;,]/g, (sign) => `\\${sign}`)
    .replaceAll('\n', '\\n');
}

/** Formats an instant as DATE-TIME in UTC, such as `20261125T080000Z`. */
export function utcOf(atMs: number): string {
  return new Date(atMs).toISOString().replace(/[-:]|\.\d+/g, '');
}

/** Formats a local time, `YYYY-MM-DDTHH:MM`, as DATE-TIME, such as `20261125T090000`. */
export function localOf(localTime: string): string {
  return `${localTime.replace(/[-:]/g, '')}00`;
}

/** Formats seconds ahead of UTC as UTC-OFFSET (section 3.3.14), such as `+0100`. */
export function offsetOf(seconds: number): string {
  const two = (value: number) => String(Math.trunc(value)).padStart(2, '0');
  const ahead = Math.abs(seconds);
  const rest = ahead % 60 === 0 ? '' : two(ahead % 60);
  return `${seconds < 0 ? '-' : '+'}${two(ahead / 3600)}${two((ahead / 60) % 60)}${rest}`;
}

/**
 * Folds a line by its length in UTF-8 octets, never within a character. The space that begins a continuation line
 * counts too.
 */
function folded(text: string): string {
  let [result, octets] = ['', 0];
  for (const character of text) {
    const size = octetsOf(character.codePointAt(0) ?? 0);
    if (octets + size > mostOctets) {
      result += '\r\n ';
      octets = 1;
    }
    result += character;
    octets += size;
  }
  return result;
}

function octetsOf(codePoint: number): number {
  if (codePoint < 0x80) return 1;
  if (codePoint < 0x800) return 2;
  return codePoint < 0x10000 ? 3 : 4;
}
