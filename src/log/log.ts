import { type DestinationStream, pino } from 'pino';
import { events, type LogEvent } from './events.js';
import { currentRequestId } from './requestId.js';

/** Where the service tells what it does: one JSON line a record, and nothing about a person in any. */
export type Log = (event: LogEvent) => void;

export type LogOptions = {
  /** Leaves out everything but failures. */
  isQuiet?: boolean;
};

const withheld = '(withheld)';

/**
 * A log that writes a line for each record: its level, its time, the name of the event, the id of the request that is
 * being answered, then the fields that {@link events} allows this event.
 */
export function openLog(to: DestinationStream, { isQuiet = false }: LogOptions = {}): Log {
  const logger = pino(
    {
      level: isQuiet ? 'error' : 'info',
      base: null,
      timestamp: pino.stdTimeFunctions.isoTime,
      formatters: { level: (label) => ({ level: label }) },
    },
    to,
  );
  return (event) => logger[events[event.event].level](recordOf(event));
}

/** A log on the error output, as far as someone still reads it. */
export function openStderrLog(options?: LogOptions): Log {
  return openLog({ write: (line) => void process.stderr.write(line) }, options);
}

function recordOf({ event, ...given }: LogEvent): object {
  const values: Readonly<Record<string, unknown>> = given;
  const request = values.request ?? currentRequestId() ?? undefined;
  const fields = Object.entries(events[event].fields.shape).flatMap(([name, schema]) => {
    const value = name === 'request' ? request : values[name];
    if (value === undefined) return [];
    const allowed = schema.safeParse(value);
    return [[name, allowed.success ? allowed.data : withheld]];
  });
  return { event, ...Object.fromEntries(fields) };
}
