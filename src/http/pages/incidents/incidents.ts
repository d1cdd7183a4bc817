import { requireOwner } from '../../../clinic/actor.js';
import { markIncidentsSeen, unseenIncidents } from '../../../store/engine/incidents.js';
import { timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import type { PageResources } from '../../server/routing.js';
import { type AuthenticatedRequest, Routes } from '../../server/routing.js';
import { whyInWords } from '../reminders/sentView.js';

/** As many as are stored: marking them as seen covers all. */
const mostShown = 100;

/** Failures while the service ran, since an owner last marked them as seen; null for none. */
export async function incidentsView(
  { store, incidents, words }: Pick<HttpResources, 'store' | 'words' | 'incidents'>,
  { clinician, formToken }: Pick<AuthenticatedRequest, 'clinician' | 'formToken'>,
) {
  await incidents.flush();
  const unseen = await store.read((db) => unseenIncidents(db, clinician.id, mostShown));
  if (unseen.length === 0) return null;
  return {
    formToken,
    // A failure that happens while the page is being read stays for the next time.
    upToMs: Math.max(...unseen.map(({ lastAtMs }) => lastAtMs)),
    kinds: unseen.map(({ code, cause, times, firstAtMs, lastAtMs, requestId }) => ({
      ...words.incidents[code],
      cause: code === 'message-not-sent' ? whyInWords(cause, words) : cause,
      times: times > 1 ? times : null,
      first: timeInWords(firstAtMs, clinician.clinicZone),
      last: timeInWords(lastAtMs, clinician.clinicZone),
      requestId,
    })),
  };
}

/** An owner marks failures as seen; a failure comes back if it happens again. */
export function incidentRoutes(service: PageResources): Routes {
  return new Routes(service).authenticatedRoute('post', '/incidents/seen', async (request) => {
    requireOwner(request);
    const upToMs = Number(field(request.fields, 'upToMs'));
    if (Number.isSafeInteger(upToMs)) {
      const seen = { upToMs, nowMs: request.nowMs };
      await service.store.write((db) => markIncidentsSeen(db, request.clinician.id, seen));
    }
    return { kind: 'redirect', to: '/' };
  });
}
