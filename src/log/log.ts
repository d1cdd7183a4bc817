import { type DestinationStream, pino } from 'pino';
import { events, type LogEvent } from './events.js';
import { currentRequestId } from './requestId.js';

/** Where the service reports what it does: one JSON line for each record, with nothing about a person in it. */
export type Log = (event: LogEvent) => void;

export type LogOptions = {
  /** Leaves out everything except failures. */
  isQuiet?: boolean;
};

const withheld = '(withheld)';

/**
 * Opens a log that writes a line for each record: its level, its time, the name of the event, the id of the current
 * request, then the fields that {@link events} allows for this event.
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

/** Opens a log on the error output; its lines are lost if nobody reads them. */
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
