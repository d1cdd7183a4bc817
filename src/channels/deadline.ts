import { setMaxListeners } from 'node:events';

/**
 * Runs work under a signal that aborts when the caller's does, or after a time, whichever comes first. The work can set
 * a new time, counted from then on.
 *
 * It uses its own timer rather than `AbortSignal.any` with `AbortSignal.timeout`, so that nothing is left behind on a
 * signal that lives as long as the service.
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
  // Many messages may share one signal. Each removes its listener again, so more than ten are not a leak.
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
