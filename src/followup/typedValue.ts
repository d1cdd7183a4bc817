import { factorBetween, pairedUnits, roundBinaryError, type UnitChoice, unitTyped } from './units.js';

/** One way to read what was typed. */
export type Reading = {
  /** In the unit of the measure. */
  value: number;
  /** How to write it so that it can be read only this way. */
  text: string;
};

const unreadable = ['empty', 'not-a-number', 'unknown-unit'] as const;
export type Unreadable = (typeof unreadable)[number];

export type TypedValue =
  | { kind: 'one'; value: number }
  /** It can be read in more than one way, or in a way that should not be assumed. */
  | { kind: 'several'; readings: readonly [Reading, ...Reading[]] }
  | { kind: 'none'; why: Unreadable };

/** The context of a typed value: its units, and the plausible values. */
export type TypedScale = UnitChoice & { plausible: { least: number; most: number } };

/** Longer than anything typed for one value. */
const maxLength = 60;
const digits = '[\\d.,]*\\d[\\d.,]*';
/** A number, or one with a fraction behind it, or a fraction. */
const amount = `(?:\\d+ )?\\d+/\\d+|${digits}`;
const single = new RegExp(`^([-+]?)(${amount}) ?([^\\d\\s.,/+-]\\D*)?$`);
const pair = new RegExp(`^(\\d+) ?([^\\d\\s.,/+-]+?)\\.? ?(${amount}) ?([^\\d\\s.,/+-]\\D*)?$`);
const fractionSigns: Readonly<Record<string, string>> = {
  '½': '1/2',
  '¼': '1/4',
  '¾': '3/4',
  '⅓': '1/3',
  '⅔': '2/3',
  '⅛': '1/8',
  '⅜': '3/8',
  '⅝': '5/8',
  '⅞': '7/8',
};

/**
 * Reads a value the way people type it: a point or a comma for decimals, with or without a unit, feet and inches,
 * meters and centimeters, minutes and seconds. Ambiguous input is never guessed: `1,234`, fractions, and a number
 * without a unit that is plausible only in another unit (`5.4` or `64` for a height).
 */
export function readTyped(typed: string, scale: TypedScale): TypedValue {
  const text = tidied(typed);
  if (text === '') return { kind: 'none', why: 'empty' };
  if (text.length > maxLength) return { kind: 'none', why: 'not-a-number' };
  const one = single.exec(text);
  if (one !== null) return readSingle(one, scale);
  const two = pair.exec(text);
  return two === null ? { kind: 'none', why: 'not-a-number' } : readPair(two, scale);
}

function tidied(typed: string): string {
  return typed
    .replace(/[½¼¾⅓⅔⅛⅜⅝⅞]/g, (sign) => ` ${fractionSigns[sign]}`)
    .replace(/[\s\u00a0\u2009\u202f]+/g, ' ')
    .replace(/[‘’′]/g, "'")
    .replace(/[“”″]|''/g, '"')
    .replace(/−/g, '-')
    .trim();
}

function readSingle([, sign = '', numeral = '', behind]: RegExpExecArray, scale: TypedScale): TypedValue {
  const unit = behind === undefined ? null : unitTyped(behind, scale);
  if (behind !== undefined && unit === null) return { kind: 'none', why: 'unknown-unit' };
  const { values, isSure } = numbersIn(numeral, unit === null ? scale.plausible.most : null);
  const numbers = values.map((value) => (sign === '-' ? -value : value));
  const factor = unit === null ? 1 : factorBetween(unit, scale.unit);
  if (numbers.length === 0 || factor === null) return { kind: 'none', why: 'not-a-number' };
  const plain = numbers.map((number) => readingOf(number, unit ?? scale.unit, scale));
  if (unit === null && !plain.some(({ value }) => isPossible(value, scale))) {
    const elsewhere = numbers.flatMap((number) => inOtherUnits(number, numeral, scale));
    if (elsewhere.length > 0) return several(elsewhere, scale);
  }
  const [first] = plain;
  return isSure && first !== undefined ? { kind: 'one', value: first.value } : several(plain, scale);
}

function readPair(
  [, large = '', between = '', small = '', behind]: RegExpExecArray,
  scale: TypedScale,
): TypedValue {
  const accepted = [scale.unit, ...scale.otherUnits];
  const first = unitTyped(between, scale);
  const units = pairedUnits.find((each) => each.large === first && accepted.includes(each.small));
  if (units === undefined) return { kind: 'none', why: first === null ? 'unknown-unit' : 'not-a-number' };
  if (behind !== undefined && unitTyped(behind, scale) !== units.small) {
    return { kind: 'none', why: 'unknown-unit' };
  }
  const { values, isSure } = numbersIn(small, null);
  const factor = factorBetween(units.small, scale.unit);
  if (values.length === 0 || factor === null) return { kind: 'none', why: 'not-a-number' };
  const readings = values.map((value) => {
    const all = roundBinaryError(Number(large) * units.ratio + value);
    const whole = Math.floor(all / units.ratio);
    const rest = `${written(roundBinaryError(all - whole * units.ratio))} ${units.small}`;
    return { value: roundBinaryError(all * factor), text: `${whole} ${units.large} ${rest}` };
  });
  // "1 m 6" may be 1.06 or 1.6.
  const isTenths = units.small === 'cm' && behind === undefined && small.length === 1;
  if (isTenths) readings.push(readingOf(Number(`${large}.${small}`), units.large, scale));
  const [only] = readings;
  const isWithin = values.every((value) => value < units.ratio);
  return isSure && isWithin && !isTenths && only !== undefined
    ? { kind: 'one', value: only.value }
    : several(readings, scale);
}

/**
 * Every number that a numeral may stand for; it is certain if there is only one and nobody would write it differently.
 */
function numbersIn(numeral: string, outOf: number | null): { values: number[]; isSure: boolean } {
  const fraction = /^(?:(\d+) )?(\d+)\/(\d+)$/.exec(numeral);
  if (fraction !== null) {
    const [, whole, over = '', under = ''] = fraction;
    // "3/10" on a scale up to ten means three.
    if (whole === undefined && Number(under) === outOf) return { values: [Number(over)], isSure: false };
    const value = roundBinaryError(Number(whole ?? 0) + Number(over) / Number(under));
    return { values: Number.isFinite(value) ? [value] : [], isSure: false };
  }
  const decimal = /^(\d*)[.,](\d+)$/.exec(numeral);
  if (decimal !== null) {
    const [, whole = '', part = ''] = decimal;
    const value = Number(`${whole}.${part}`);
    // A comma or point before three digits may separate thousands.
    const mayBeThousands = part.length === 3 && /^[1-9]\d{0,2}$/.test(whole);
    return mayBeThousands
      ? { values: [value, Number(whole + part)], isSure: false }
      : { values: [value], isSure: true };
  }
  if (/^\d+$/.test(numeral)) return { values: [Number(numeral)], isSure: true };
  const withCommas = /^\d{1,3}(?:,\d{3})+(?:\.\d+)?$/.test(numeral);
  const withPoints = /^\d{1,3}(?:\.\d{3})+(?:,\d+)?$/.test(numeral);
  if (withCommas) return { values: [Number(numeral.replaceAll(',', ''))], isSure: true };
  if (withPoints) return { values: [Number(numeral.replaceAll('.', '').replace(',', '.'))], isSure: true };
  return { values: [], isSure: false };
}

/** The readings of a bare number in units other than the measure's own that give a plausible value. */
function inOtherUnits(number: number, numeral: string, scale: TypedScale): Reading[] {
  const plain = scale.otherUnits.map((unit) => readingOf(number, unit, scale));
  // 5.4 often means five feet four inches.
  const parts = /^(\d+)[.,](\d{1,2})$/.exec(numeral);
  const inches = Number(parts?.[2]);
  if (
    parts !== null &&
    number > 0 &&
    inches < 12 &&
    scale.otherUnits.includes('ft') &&
    scale.otherUnits.includes('in')
  ) {
    const factor = factorBetween('in', scale.unit) ?? 0;
    const value = roundBinaryError((Number(parts[1]) * 12 + inches) * factor);
    plain.unshift({ value, text: `${Number(parts[1])} ft ${inches} in` });
  }
  return plain.filter(({ value }) => isPossible(value, scale));
}

function several(readings: readonly Reading[], scale: TypedScale): TypedValue {
  const possible = readings.filter(({ value }) => isPossible(value, scale));
  const [first, ...others] = possible.length > 0 ? possible : readings;
  return first === undefined
    ? { kind: 'none', why: 'not-a-number' }
    : { kind: 'several', readings: [first, ...others] };
}

function readingOf(number: number, unit: string, scale: TypedScale): Reading {
  const value = roundBinaryError(number * (factorBetween(unit, scale.unit) ?? 1));
  return { value, text: `${written(number)} ${unit}`.trim() };
}

function isPossible(value: number, { plausible }: TypedScale): boolean {
  return value >= plausible.least && value <= plausible.most;
}

/** A number that can be read in only one way: with exactly three decimals it might be read as thousands. */
function written(number: number): string {
  const text = String(roundBinaryError(number));
  return /^-?[1-9]\d{0,2}\.\d{3}$/.test(text) ? `${text}0` : text;
}
