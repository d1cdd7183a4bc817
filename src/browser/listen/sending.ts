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

/** Sends from a page that is being left. No one reads the answer: the next page sends again, to the same end. */
export function postBeforeUnload(report: Report): void {
  const body = JSON.stringify(report);
  const headers = { 'content-type': 'application/json' };
  fetch(address, { method: 'POST', headers, body, keepalive: true }).catch(() => undefined);
}

/** Lets one tab of this browser do something at a time, where the browser can. A tab that hangs is not waited for. */
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
