import type { Server } from 'node:http';
import { setTimeout as after } from 'node:timers/promises';
import { describeError } from '../errors/cause.js';
import type { Log } from '../log/log.js';

/** A service is expected to stop within half a minute: systems kill a process that takes longer. */
const workMs = 20_000;
/** For each resource that is closed at the end; there are three. */
const closeMs = 3_000;
const lookEveryMs = 100;

export type Ending = {
  server: Server;
  /** Each starts nothing new once called, and settles when work in progress is done. */
  work: readonly (() => Promise<unknown>)[];
  /** Called afterward, one after the other. */
  close: readonly (() => Promise<unknown>)[];
  log: Log;
};

/**
 * Stops a service within half a minute: nothing new starts, work in progress is finished if there is time, and then
 * everything is closed. It never rejects: one part that fails must not hold up the others.
 */
export async function stopService({ server, work, close, log }: Ending): Promise<void> {
  const finished = [() => closed(server), ...work].map((end) => settled(end, log));
  if (!(await isDoneWithin(workMs, Promise.all(finished)))) log({ event: 'stop-cut-short' });
  server.closeAllConnections();
  for (const end of close) {
    if (!(await isDoneWithin(closeMs, settled(end, log)))) log({ event: 'close-cut-short' });
  }
}

async function settled(end: () => Promise<unknown>, log: Log): Promise<void> {
  try {
    await end();
  } catch (error) {
    log({ event: 'stop-failed', error: describeError(error) });
  }
}

/** Returns whether work is done in time. */
export async function isDoneWithin(ms: number, work: Promise<unknown>): Promise<boolean> {
  const waiting = new AbortController();
  const tooLate = after(ms, false, { signal: waiting.signal }).catch(() => false);
  const isDone = await Promise.race([work.then(() => true), tooLate]);
  waiting.abort();
  return isDone;
}

/** Finishes pending requests and closes idle connections. */
async function closed(server: Server): Promise<void> {
  const ending = new Promise((resolve) => server.close(resolve));
  const looking = setInterval(() => server.closeIdleConnections(), lookEveryMs);
  server.closeIdleConnections();
  await ending;
  clearInterval(looking);
}
