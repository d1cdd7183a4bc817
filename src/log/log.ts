/** Where the service tells what it does: one JSON line an event. Never names, addresses, tokens or query strings. */
export type Log = (event: Readonly<Record<string, string | number>>) => void;

export const logToStderr: Log = (event) => {
  process.stderr.write(`${JSON.stringify({ at: new Date().toISOString(), ...event })}\n`);
};

/** For whoever wants to read of nothing else. */
export const logFailures: Log = (event) => {
  if (event.cause !== undefined) logToStderr(event);
};
