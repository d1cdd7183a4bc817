import { z } from 'zod';

/**
 * Every record that the log can hold, with the only fields that it may have. A field that is not listed here is left
 * out, and a value of the wrong shape is withheld: there is no field for a name, an address, a token or a query string.
 */

const count = z.int().nonnegative();
/** A stable name that we chose. */
const code = z.string().regex(/^[a-z]+(-[a-z]+)*$/);
/** The id of a row, which says nothing about the person. */
const rowId = z.string().regex(/^[\w-]{1,64}$/);
/** The id of a request or a job, as made by `requestId.ts`. */
const requestId = z.string().regex(/^[\w-]{1,64}$/);

const mostCauseCharacters = 400;
/** Our own words; anything that looks like an email address is replaced all the same. */
const cause = z.string().transform((text) => text.replaceAll(/\S+@\S+/g, '…').slice(0, mostCauseCharacters));

/** The pattern of a route, such as `/patients/:id`, and never the requested address. */
const route = z.string().max(200);

const thrown = {
  name: z.string().regex(/^[\w$.]{1,80}$/),
  code: z
    .string()
    .regex(/^[\w-]{1,40}$/)
    .optional(),
  stack: z.array(z.string().regex(/^at /).max(400)),
};
/** A thrown error without its message, which can hold anything. */
const error = z.object({ ...thrown, causes: z.array(z.object(thrown)) });

/** Optional for every record: the log adds the current request itself. */
const common = { request: requestId.optional() };

const record = <Shape extends z.ZodRawShape>(level: 'info' | 'warn' | 'error', shape: Shape) => ({
  level,
  fields: z.object({ ...common, ...shape }),
});

export const events = {
  'request-answered': record('info', {
    method: z.string().regex(/^[A-Z-]{1,20}$/),
    route,
    status: count,
    ms: count,
  }),
  'request-refused': record('info', { why: z.enum(['another-site']) }),
  /** A single failure. */
  incident: record('error', { code, cause, patient: rowId.optional(), error: error.optional() }),
  /** A problem that has begun and persists. */
  trouble: record('error', { code, cause }),
  'trouble-over': record('info', { code }),
  'no-sound-made': record('error', { cause }),
  'backup-made': record('info', { rows: count }),
  'cache-pruned': record('info', { files: count }),
  'zone-data-updated': record('info', { release: z.string().regex(/^\d{4}[a-z]{1,2}$/) }),
  'zone-data-unread': record('warn', { error }),
  'stop-cut-short': record('warn', {}),
  'close-cut-short': record('warn', {}),
  'stop-failed': record('warn', { error }),
} as const;

type EventName = keyof typeof events;

/** One record as it is passed to the log. */
export type LogEvent = {
  [Name in EventName]: { event: Name } & z.input<(typeof events)[Name]['fields']>;
}[EventName];
