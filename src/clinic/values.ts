import { z } from 'zod';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { isZone } from '../schedule/zoneRules.js';
import type { Refusal } from './refusals.js';

/** The IANA zones offered for selection; any other can be typed. */
export const zones: readonly string[] = [...new Set(['UTC', ...Intl.supportedValuesOf('timeZone')])];

/** A zone by its IANA name, including names that are only aliases. */
export const zoneSchema = z.string().refine(isZone, { error: 'a time zone such as America/Chicago' });

/** Text from a form: anything on one line that a database and a page can hold. */
export const text = (maxLength: number) =>
  z
    .string()
    .max(maxLength, { error: `at most ${maxLength} characters`, abort: true })
    .regex(/^[^\p{Cc}\p{Cs}]*$/u, { error: 'text on one line' });

/** The same, and not empty. */
export const requiredText = (maxLength: number) =>
  text(maxLength).regex(/[\p{L}\p{N}]/u, { error: 'enter something here' });

/** A whole number that fits into the database; 0 for anything else. */
export function wholeNumber(typed: string): number {
  const number = Number(typed);
  return Number.isInteger(number) && number >= 0 && number < 2 ** 31 ? number : 0;
}

/** The reason for a step, as the record keeps it: one sentence. */
export const reasonSchema = requiredText(500);

/** An email address used to sign in. */
export const emailSchema = z.email({ error: 'an email address' }).max(254);

/** Refuses an address that already has an account. */
export const emailTaken: Refusal = { code: 'email-taken', field: 'email' };

/** The problems in a form, for the page to show. */
export function problemsOf(error: z.ZodError): Problem[] {
  return error.issues.map(({ path, message }) => ({ path: path.join('.'), message }));
}

/** Reads the fields of a form with a schema. @throws StillcountError kind `input` naming every invalid field */
export function parseForm<Schema extends z.ZodType>(schema: Schema, fields: object): z.output<Schema> {
  const parsed = schema.safeParse(fields);
  if (parsed.success) return parsed.data;
  throw inputError(problemsOf(parsed.error));
}
