/**
 * The units of a dimension, each relative to the first: the inch is 2.54 cm and the foot 12 inches exactly, since 1959.
 */
const dimensions = [
  { cm: 1, mm: 0.1, m: 100, in: 2.54, ft: 30.48 },
  { s: 1, min: 60 },
] as const satisfies readonly Readonly<Record<string, number>>[];

export const knownUnits = ['cm', 'mm', 'm', 'in', 'ft', 's', 'min'] as const;
export type KnownUnit = (typeof knownUnits)[number];

/** What may be typed for each, in lower case and without a final period. */
const spellings: Readonly<Record<KnownUnit, readonly string[]>> = {
  cm: ['cm', 'centimetre', 'centimetres', 'centimeter', 'centimeters'],
  mm: ['mm', 'millimetre', 'millimetres', 'millimeter', 'millimeters'],
  m: ['m', 'metre', 'metres', 'meter', 'meters'],
  in: ['in', 'inch', 'inches', '"'],
  ft: ['ft', 'foot', 'feet', "'"],
  s: ['s', 'sec', 'secs', 'second', 'seconds'],
  min: ['min', 'mins', 'minute', 'minutes'],
};

/** Two units written one after the other, and how many of the smaller make one of the larger. */
export const pairedUnits = [
  { large: 'ft', small: 'in', ratio: 12 },
  { large: 'm', small: 'cm', ratio: 100 },
  { large: 'min', small: 's', ratio: 60 },
] as const satisfies readonly { large: KnownUnit; small: KnownUnit; ratio: number }[];

/** The units in which a value can be typed: its own, which may be any word or none, and others converted to it. */
export type UnitChoice = {
  unit: string;
  /** The singular, such as `stand`. */
  oneUnit?: string | undefined;
  otherUnits: readonly KnownUnit[];
};

/** How many `to` one `from` is; null if they measure different things. */
export function factorBetween(from: string, to: string): number | null {
  if (from === to) return 1;
  for (const units of dimensions) {
    const sizes: Readonly<Record<string, number>> = units;
    const large = sizes[from];
    const small = sizes[to];
    if (large !== undefined && small !== undefined) return large / small;
  }
  return null;
}

/** The unit typed after a number, or null if it is none of these. */
export function unitTyped(typed: string, { unit, oneUnit, otherUnits }: UnitChoice): string | null {
  const word = typed.trim().toLowerCase().replace(/\.$/, '');
  if (word === unit.toLowerCase() || word === oneUnit?.toLowerCase()) return unit;
  const known = knownUnits.find((each) => spellings[each].includes(word));
  return known !== undefined && [unit, ...otherUnits].includes(known) ? known : null;
}

/** Removes binary rounding errors: 0.1 + 0.2 is 0.3. */
export function roundBinaryError(value: number): number {
  return Number(value.toPrecision(12));
}

/** A number as displayed: rounded, without trailing zeros. */
export function numberText(value: number, decimals: number): string {
  const rounded = Number(roundBinaryError(value).toFixed(decimals));
  return String(rounded === 0 ? 0 : rounded);
}

/** A value as displayed, such as `162.6 cm`, `1 stand` or `3`. */
export function valueText(
  value: number,
  { unit, oneUnit, decimals }: UnitChoice & { decimals: number },
): string {
  const number = numberText(value, decimals);
  return `${number} ${number === '1' ? (oneUnit ?? unit) : unit}`.trim();
}
