import type { Report } from '../../listening/report.js';
import type { Post } from './sendAll.js';
import { startTimeout } from './timeout.js';

const address = 'report';
const patienceMs = 20_000;
const lockName = 'stillcount-report';

export const postReport: Post = async (report) => {
  const { signal, end } = startTimeout(patienceMs);
  try {
    const response = await fetch(address, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(report),
      signal,
    });
    if (response.ok) return { kind: 'answered', answer: await response.json() };
    return { kind: response.status === 404 || response.status === 401 ? 'shut' : 'unreached' };
  } catch {
    return { kind: 'unreached' };
  } finally {
    end();
  }
};

/**
 * Sends reports from a page that is being left. The answer is not read; the next page sends them again, with the same
 * result.
 */
export function postBeforeUnload(report: Report): void {
  const body = JSON.stringify(report);
  const headers = { 'content-type': 'application/json' };
  fetch(address, { method: 'POST', headers, body, keepalive: true }).catch(() => undefined);
}

/**
 * Runs `work` in one tab of this browser at a time, where the browser supports it. It does not wait for a tab that
 * hangs.
 */
export async function withTabLock<Result>(work: () => Promise<Result>): Promise<Result> {
  if (!('locks' in navigator)) return work();
  const { signal, end } = startTimeout(2 * patienceMs);
  try {
    return await navigator.locks.request(lockName, { signal }, work);
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') return work();
    throw error;
  } finally {
    end();
  }
}
