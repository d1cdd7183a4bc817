/** One measurement of a finished file, and the allowed values. */
export type InspectionRow = {
  /** A short, stable name for programs. */
  check: string;
  /** What was checked, in plain words. */
  title: string;
  measured: string;
  allowed: string;
  ok: boolean;
};

export type Inspection = {
  rows: readonly InspectionRow[];
  /** True when every row passed. */
  passed: boolean;
};

/** Combines rows into an inspection, which passes when every row does. */
export function inspectionOf(rows: readonly InspectionRow[]): Inspection {
  return { rows, passed: rows.length > 0 && rows.every((row) => row.ok) };
}

/** Returns a row for a number that must lie between two bounds, either of which is optional. NaN never passes. */
export function boundedRow(
  check: string,
  title: string,
  value: number,
  bounds: { least?: number; most?: number; unit: string; decimals: number },
): InspectionRow {
  const { least = -Infinity, most = Infinity, unit, decimals } = bounds;
  const shown = (number: number) => `${Number.isFinite(number) ? number.toFixed(decimals) : number} ${unit}`;
  const allowed =
    least === -Infinity
      ? `at most ${shown(most)}`
      : most === Infinity
        ? `at least ${shown(least)}`
        : `${shown(least)} to ${shown(most)}`;
  return { check, title, measured: shown(value), allowed, ok: value >= least && value <= most };
}

/** Returns a row that passes when both values are equal. */
export function equalRow(check: string, title: string, measured: string, allowed: string): InspectionRow {
  return { check, title, measured, allowed, ok: measured === allowed };
}

/** Returns a row that counts `n of all` and passes when none is missing. */
export function completeRow(check: string, title: string, present: number, all: number): InspectionRow {
  return equalRow(check, title, `${present} of ${all}`, `${all} of ${all}`);
}
