import { stringify } from 'csv-stringify/sync';

/** What a cell holds; nothing for null. */
export type CsvValue = string | number | boolean | null;

/** So that spreadsheet programs read letters beyond ASCII right. */
const byteOrderMark = '\ufeff';

/**
 * Spreadsheet programs take a text that begins like this for a formula and run it: it gets an apostrophe in front,
 * which they take for "this is text". A text that has such an apostrophe already gets another one, so that taking one
 * away always gives the text as it was. What else a program takes for the end of a cell, such as a semicolon, is said
 * in the text that goes with the files.
 */
const likeFormula = /^['\s]*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]/u;

/** The first line of a table. */
export function csvHead(names: readonly string[]): string {
  return byteOrderMark + csvLine(names);
}

/** One line as RFC 4180 has it: every cell in quotes, a quote in it doubled, CRLF at the end. */
export function csvLine(values: readonly CsvValue[]): string {
  return stringify([values.map(textOf)], { quoted: true, quoted_empty: true, record_delimiter: 'windows' });
}

function textOf(value: CsvValue): string {
  if (value === null) return '';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'number') return String(value);
  return likeFormula.test(value) ? `'${value}` : value;
}
