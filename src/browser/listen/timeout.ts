/**
 * Returns a signal that aborts after a time, for browsers without `AbortSignal.timeout` (Safari before 16, MDN).
 *
 * @returns the signal, and `end`, which stops the wait
 */
export function startTimeout(ms: number): { signal: AbortSignal; end: () => void } {
  const controller = new AbortController();
  const timer = setTimeout(() => controller.abort(), ms);
  return { signal: controller.signal, end: () => clearTimeout(timer) };
}
