import { type CsvValue, csvHead, csvLine } from '../../documents/csv.js';

/** A file of the record: its name without an extension, and its text, piece by piece. */
export type RecordTableFile = { name: string; text: () => AsyncIterable<string> };

/** The columns of a table by name, with the cell of each for a row. */
export type Columns<Row> = Readonly<Record<string, (row: Row) => CsvValue>>;

/** A table as CSV, line by line. */
export function tableOf<Row>(
  name: string,
  rows: () => AsyncIterable<Row> | Promise<readonly Row[]>,
  columns: Columns<Row>,
): RecordTableFile {
  const parts = Object.values(columns);
  return {
    name,
    async *text() {
      yield csvHead(Object.keys(columns));
      for await (const row of each(rows())) yield csvLine(parts.map((cell) => cell(row)));
    },
  };
}

async function* each<Row>(rows: AsyncIterable<Row> | Promise<readonly Row[]>): AsyncGenerator<Row> {
  yield* rows instanceof Promise ? await rows : rows;
}

/** Epoch milliseconds as a UTC instant that any program can read; empty for null. */
export function instantOf(atMs: number | null): string | null {
  return atMs === null ? null : new Date(atMs).toISOString();
}
