import type { Inspection } from './inspection.js';

/** Formats the inspection as a plain text table, one line per check. */
export function formatInspection(inspection: Inspection): string {
  const header = { title: 'check', measured: 'measured', allowed: 'allowed' };
  const lines = [header, ...inspection.rows];
  const width = (field: keyof typeof header) => Math.max(...lines.map((line) => line[field].length));
  const widths = { title: width('title'), measured: width('measured'), allowed: width('allowed') };
  const line = (row: typeof header, mark: string) =>
    [
      mark.padEnd(4),
      row.title.padEnd(widths.title),
      row.measured.padEnd(widths.measured),
      row.allowed.padEnd(widths.allowed),
    ]
      .join('  ')
      .trimEnd();
  return [
    line(header, ''),
    ...inspection.rows.map((row) => line(row, row.ok ? 'ok' : 'FAIL')),
    '',
    inspection.passed ? 'All checks passed.' : 'This session did not pass.',
  ].join('\n');
}
