/** A row in a table of measurements. */
export type Row = { what: string; measured: string; wanted: string; ok: boolean };

/** A measurement that must not exceed a limit. */
export function within(what: string, measured: number, most: number, unit: string): Row {
  const shown = measured < 10 ? measured.toFixed(1) : measured.toFixed(0);
  return { what, measured: `${shown} ${unit}`, wanted: `at most ${most} ${unit}`, ok: measured <= most };
}
