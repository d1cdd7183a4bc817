import { note } from '../../../clinic/actor.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { Routes } from '../../server/routing.js';
import { buildClinicOverview } from './buildClinicOverview.js';

/** The clinic overview: all patients by name. */
export function clinicViewRoutes(
  service: Pick<HttpResources, 'store' | 'pages' | 'words' | 'assets' | 'now' | 'https'>,
): Routes {
  return new Routes(service).authenticatedRoute('get', '/clinic-view', async (visit) => {
    const { clinicId } = visit.clinician;
    const seen = { patientId: null, subject: clinicId, action: 'clinic-view-read' };
    await service.store.write((db) => note(db, visit, seen));
    const after = field(visit.query, 'after') || undefined;
    return {
      kind: 'page',
      page: 'clinic-view',
      view: await buildClinicOverview(service, visit, after),
    };
  });
}
