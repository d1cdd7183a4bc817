import type { Sqlite } from '../sqlite.js';

type Row = Record<string, string | number | null>;

const atMs = Date.UTC(2026, 10, 25, 9);
const minuteMs = 60_000;

/**
 * One row at least in each table that a step once changed after it existed. Columns that a database does not have, and
 * tables, are left out.
 */
function rowsOf(ids: {
  clinicId: string;
  clinicianId: string;
  patientId: string;
  prescriptionId: string;
}): Record<string, readonly Row[]> {
  const { clinicId, clinicianId, patientId, prescriptionId } = ids;
  const listening = { patientId, prescriptionId, versionNumber: 1, sessionNumber: 1, slot: '2026-11-25#1' };
  const told = { ...listening, linkId: 'earlier-link', listeningId: 'earlier-listening', receivedAtMs: atMs };
  const step = (name: string, positionMs: number) => ({
    ...told,
    ...{ id: `earlier-${name}`, step: name, positionMs, atMs: atMs + positionMs },
  });
  return {
    screening: [
      { id: 'earlier-screening', patientId, number: 77, answers: '{"a":1}', stops: 0, clinicianId, atMs },
    ],
    listeningLink: [
      {
        ...{ id: 'earlier-link', clinicId, patientId, codeHash: 'earlier code', wrongPins: 2, clinicianId },
        ...{ createdAtMs: atMs, expiresAtMs: atMs + 1e10 },
      },
    ],
    contact: [
      {
        ...{ id: 'earlier-contact', clinicId, clinicianId, channel: 'mail', address: '"ada@example.org"' },
        ...{ addressHash: 'earlier address', unsubscribeHash: 'earlier way out', createdAtMs: atMs },
        ...{ endedAtMs: atMs, endedWhy: 'replaced' },
      },
    ],
    listeningToken: [
      {
        ...{ tokenHash: 'earlier token', linkId: 'earlier-link', purpose: 'pages', createdAtMs: atMs },
        contactId: 'earlier-contact',
      },
    ],
    listeningStep: [step('started', 0), step('finished', 10 * minuteMs)],
    checkIn: [{ ...told, id: 'earlier-answers', answers: '{"felt":"good"}', atMs, choice: 'half' }],
    delivery: [
      {
        ...{ id: 'earlier-delivery', key: 'earlier key', clinicId, patientId, kind: 'warning' },
        ...{ subject: 'w0', contactId: 'earlier-contact', state: 'sent', forAtMs: atMs, nextAtMs: atMs },
        ...{ goodUntilMs: atMs, attempts: 1, settledAtMs: atMs },
      },
    ],
    // Wrong on purpose: it shows whether sums were made again, and of what.
    listened: [
      {
        ...{ ...listening, listeningId: 'earlier-listening', startedAtMs: atMs, lastAtMs: atMs, heardMs: 1 },
        ...{ reachedMs: 1, pauseCount: 7, pausedMs: 7 },
      },
    ],
  };
}

/**
 * Puts the rows of {@link rowsOf} into a SQLite file of any version, where they are not there yet.
 *
 * @returns the rows that the newest version has to make of them
 */
export function addEarlierRows(database: InstanceType<typeof Sqlite>): Record<string, Row[]> {
  const idOf = (table: string) => String(database.prepare(`select "id" from "${table}"`).pluck().get());
  const rows = rowsOf({
    clinicId: idOf('clinic'),
    clinicianId: idOf('clinician'),
    patientId: idOf('patient'),
    prescriptionId: idOf('prescription'),
  });
  const columnsOf = (table: string) =>
    new Set(database.prepare(`select "name" from pragma_table_info('${table}')`).pluck().all());
  const wanted: Record<string, Row[]> = {};
  for (const [table, all] of Object.entries(rows)) {
    const columns = columnsOf(table);
    if (columns.size === 0) continue;
    wanted[table] = all.map((row) => ({ ...row, ...unknownThen(table, columns) }));
    for (const row of all) {
      const own = Object.entries(row).filter(([column]) => columns.has(column));
      const names = own.map(([column]) => `"${column}"`).join(', ');
      const places = own.map(() => '?').join(', ');
      database
        .prepare(`insert or ignore into "${table}" (${names}) values (${places})`)
        .run(...own.map(([, value]) => value));
    }
  }
  if (wanted.listeningStep !== undefined && !columnsOf('listened').has('choice')) {
    const [sum] = rows.listened ?? [];
    const heard = { heardMs: 10 * minuteMs, reachedMs: 10 * minuteMs, pauseCount: 0, pausedMs: 0 };
    const ended = { lastAtMs: atMs + 10 * minuteMs, finishedAtMs: atMs + 10 * minuteMs, choice: null };
    wanted.listened = [{ ...sum, ...heard, ...ended }];
  }
  return wanted;
}

/** What rows are to hold in columns that came later: the careful value where nobody wrote it down. */
function unknownThen(table: string, columns: ReadonlySet<unknown>): Row {
  const later: Record<string, Row> = {
    screening: { stops: 1 },
    listeningLink: { wrongPins: 0 },
    listeningToken: { contactId: null },
    listeningStep: { choice: null },
    checkIn: { choice: null },
    delivery: { subject: null },
  };
  return Object.fromEntries(Object.entries(later[table] ?? {}).filter(([column]) => !columns.has(column)));
}
