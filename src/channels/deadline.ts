import { setMaxListeners } from 'node:events';

/**
 * Runs work under a signal that aborts when the caller's does, or after a time; whichever comes first. The work may set
 * another time, counted from then on.
 *
 * A timer of its own rather than `AbortSignal.any` with `AbortSignal.timeout`: nothing is left behind on a signal that
 * lives as long as the service.
 */
export async function withDeadline<Result>(
  outer: AbortSignal,
  deadlineMs: number,
  work: (signal: AbortSignal, prolong: (deadlineMs: number) => void) => Promise<Result>,
): Promise<Result> {
  const controller = new AbortController();
  const abort = () => controller.abort(outer.reason);
  const begin = (ms: number) => setTimeout(() => controller.abort(new Error('the time for it is over')), ms);
  let timer = begin(deadlineMs);
  const prolong = (ms: number) => {
    clearTimeout(timer);
    timer = begin(ms);
  };
  // Many messages may share one signal. Each takes its listener away again, so that more than ten are no leak.
  setMaxListeners(0, outer);
  outer.addEventListener('abort', abort, { once: true });
  try {
    if (outer.aborted) abort();
    return await work(controller.signal, prolong);
  } finally {
    clearTimeout(timer);
    outer.removeEventListener('abort', abort);
  }
}
