import { auditTrail } from '../../../store/accounts/audit.js';
import { timeInWords } from '../../../text/dates.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { Routes } from '../../server/routing.js';

/** The activity log, for everyone or for one patient. */
export function trailRoutes(
  service: Pick<HttpResources, 'store' | 'pages' | 'words' | 'assets' | 'now' | 'https'>,
): Routes {
  const { store, words } = service;
  return new Routes(service).authenticatedRoute('get', '/records', async (visit) => {
    const { clinicId, clinicZone } = visit.clinician;
    const patientId = field(visit.query, 'patient');
    const before = Number(field(visit.query, 'before'));
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
        isOwner: visit.clinician.role === 'owner',
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
