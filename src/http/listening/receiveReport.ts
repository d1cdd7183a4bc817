import type { Listener } from '../../clinic/listening/listener.js';
import { saveReport } from '../../clinic/listening/reports.js';
import type { ReportAnswer } from '../../listening/report.js';
import type { HttpResources } from '../server/resources.js';

/**
 * Stores what a listener reports, by any path, within the rate limits of one link.
 *
 * @throws StillcountError kind `input` if it is not a report at all
 */
export async function receiveReport(
  service: Pick<HttpResources, 'store' | 'workshop' | 'listeningLimits' | 'reminderSecrets' | 'now'>,
  listener: Listener,
  body: unknown,
): Promise<ReportAnswer | 'too-many'> {
  const { linkId } = listener;
  const { listeningLimits: limits } = service;
  const items: unknown = Object(body).items;
  const count = Array.isArray(items) ? items.length : 1;
  const mayPass =
    (await limits.mayReport(linkId, count)) || (mayWarn(items) && (await limits.mayWarn(linkId)));
  return mayPass ? saveReport(service, listener, body) : 'too-many';
}

/** Whether a report may contain a warning sign, which no limit on other things delays. */
function mayWarn(items: unknown): boolean {
  return Array.isArray(items) && items.some((item) => ['warning', 'check-in'].includes(Object(item).kind));
}
