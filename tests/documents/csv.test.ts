import { parse } from 'csv-parse/sync';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { csvHead, csvLine } from '../../src/documents/csv.js';

/** Read by an independent reader of RFC 4180, which knows nothing of apostrophes. */
const read = (text: string): string[][] =>
  parse(text, { bom: true, record_delimiter: '\r\n', relax_column_count: false });

/** What the README tells whoever reads the files. */
const asItWas = (cell: string) => (/^'['\s]*[=+\-@\t\r＝＋－＠]/u.test(cell) ? cell.slice(1) : cell);

/** How spreadsheet programs take a cell for a formula (OWASP, "CSV Injection"). */
const isFormula = (cell: string) => /^[=+\-@\t\r＝＋－＠]/u.test(cell);

describe('a table as CSV', () => {
  it('is read back as it was, whatever stands in it, and no text of it is a formula', () => {
    const cell = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 12 }),
      fc.constantFrom(
        '',
        '=1+1',
        "'=1",
        "''@x",
        '\t=1',
        ' =1',
        '-',
        "'tis",
        '"',
        'a,b',
        'a\r\nb',
        '＝1',
        '-5 kg',
      ),
    );
    const table = fc
      .integer({ min: 1, max: 4 })
      .chain((width) => fc.array(fc.array(cell, { minLength: width, maxLength: width }), { maxLength: 5 }));
    fc.assert(
      fc.property(table, (rows) => {
        const names = rows[0]?.map((_cell, index) => `column ${index}`) ?? ['only'];
        const cells = read(csvHead(names) + rows.map(csvLine).join(''));
        expect(cells.map((line) => line.map(asItWas))).toEqual([names, ...rows]);
        expect(cells.flat().filter(isFormula)).toEqual([]);
      }),
      { numRuns: 100 },
    );
  });

  it('keeps numbers as numbers, and says yes, no and nothing', () => {
    expect(csvLine([-3, 1.5, true, false, null])).toBe('"-3","1.5","yes","no",""\r\n');
    expect(csvLine(['-3', 'say "when"'])).toBe(`"'-3","say ""when"""\r\n`);
  });
});
