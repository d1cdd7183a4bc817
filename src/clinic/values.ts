import { z } from 'zod';
import { inputError, type Problem } from '../errors/stillcountError.js';
import { isZone } from '../schedule/zoneRules.js';
import type { Refusal } from './refusals.js';

/** The IANA zones to choose from; any other may be typed in. */
export const zones: readonly string[] = [...new Set(['UTC', ...Intl.supportedValuesOf('timeZone')])];

/** A zone by its IANA name, also one that is only an older name of another. */
export const zoneSchema = z.string().refine(isZone, { error: 'a time zone such as America/Chicago' });

/** Text that a form may hold: anything on one line, but nothing that a database or a page cannot. */
export const text = (maxLength: number) =>
  z
    .string()
    .max(maxLength, { error: `at most ${maxLength} characters`, abort: true })
    .regex(/^[^\p{Cc}\p{Cs}]*$/u, { error: 'text on one line' });

/** The same, and not empty. */
export const requiredText = (maxLength: number) =>
  text(maxLength).regex(/[\p{L}\p{N}]/u, { error: 'enter something here' });

/** A whole number that a database can keep; 0 for anything else. */
export function wholeNumber(typed: string): number {
  const number = Number(typed);
  return Number.isInteger(number) && number >= 0 && number < 2 ** 31 ? number : 0;
}

/** What a record gives as the reason for a step: one sentence. */
export const reasonSchema = requiredText(500);

/** An address with which somebody signs in. */
export const emailSchema = z.email({ error: 'an email address' }).max(254);

/** An address can have one account only. */
export const emailTaken: Refusal = { code: 'email-taken', field: 'email' };

/** What a form got wrong, for the page to show. */
export function problemsOf(error: z.ZodError): Problem[] {
  return error.issues.map(({ path, message }) => ({ path: path.join('.'), message }));
}

/** The fields of a form as a schema has them. @throws StillcountError kind `input` naming every field that is wrong */
export function parseForm<Schema extends z.ZodType>(schema: Schema, fields: object): z.output<Schema> {
  const parsed = schema.safeParse(fields);
  if (parsed.success) return parsed.data;
  throw inputError(problemsOf(parsed.error));
}
