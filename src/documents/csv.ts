import { stringify } from 'csv-stringify/sync';

/** The value of a cell; null is an empty cell. */
export type CsvValue = string | number | boolean | null;

/** Lets spreadsheet programs read non-ASCII letters correctly. */
const byteOrderMark = '\ufeff';

/**
 * Spreadsheet programs treat text that begins like this as a formula and run it. Such text gets a leading apostrophe,
 * which marks it as text. Text that already has the apostrophe gets another one, so that removing one always restores
 * the original. The text that accompanies the files warns about other characters that a program may treat as the end of
 * a cell, such as a semicolon.
 */
const likeFormula = /^['\s]*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]/u;

/** Returns the header line of a table, with a byte order mark. */
export function csvHead(names: readonly string[]): string {
  return byteOrderMark + csvLine(names);
}

/** Returns one line as in RFC 4180: every cell in quotes, quotes inside it doubled, CRLF at the end. */
export function csvLine(values: readonly CsvValue[]): string {
  return stringify([values.map(textOf)], { quoted: true, quoted_empty: true, record_delimiter: 'windows' });
}

function textOf(value: CsvValue): string {
  if (value === null) return '';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'number') return String(value);
  return likeFormula.test(value) ? `'${value}` : value;
}
