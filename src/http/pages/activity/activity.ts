import { auditTrail } from '../../../store/accounts/audit.js';
import { timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { Routes } from '../../server/routing.js';

/** The activity log, for everyone or for one patient. */
export function activityRoutes(service: PageResources): Routes {
  const { store, words } = service;
  return new Routes(service).authenticatedRoute('get', '/records', async (request) => {
    const { clinicId, clinicZone } = request.clinician;
    const patientId = field(request.query, 'patient');
    const before = Number(field(request.query, 'before'));
    const { entries, hasMore } = await store.read((db) =>
      auditTrail(db, clinicId, {
        ...(patientId === '' ? {} : { patientId }),
        ...(Number.isSafeInteger(before) && before > 0 ? { before } : {}),
      }),
    );
    const last = entries.at(-1);
    const ofPatient: Record<string, string> = patientId === '' ? {} : { patient: patientId };
    return {
      kind: 'page',
      page: 'records',
      view: {
        patientName: patientId === '' ? null : (entries[0]?.patientName ?? null),
        isOwner: request.clinician.role === 'owner',
        hasEntries: entries.length > 0,
        entries: entries.map((entry) => ({
          when: timeInWords(entry.atMs, clinicZone),
          who: entry.clinicianName,
          through: entry.accessKeyName,
          what: words.actions[entry.action] ?? entry.action,
          patient: entry.patientName,
        })),
        more:
          last === undefined || !hasMore
            ? null
            : `/records?${new URLSearchParams({ before: String(last.sequence), ...ofPatient })}`,
      },
    };
  });
}
