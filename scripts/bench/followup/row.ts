/** A line of a table of measurements. */
export type Row = { what: string; measured: string; wanted: string; ok: boolean };

/** A measurement that is to stay at or below a number. */
export function within(what: string, measured: number, most: number, unit: string): Row {
  const shown = measured < 10 ? measured.toFixed(1) : measured.toFixed(0);
  return { what, measured: `${shown} ${unit}`, wanted: `at most ${most} ${unit}`, ok: measured <= most };
}
