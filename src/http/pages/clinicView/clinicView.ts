import { auditActor } from '../../../store/accounts/audit.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { Routes } from '../../server/routing.js';
import { buildClinicOverview } from './buildClinicOverview.js';

/** The clinic overview: all patients by name. */
export function clinicViewRoutes(service: PageResources): Routes {
  return new Routes(service).authenticatedRoute('get', '/clinic-view', async (request) => {
    const { clinicId } = request.clinician;
    const seen = { patientId: null, subject: clinicId, action: 'clinic-view-read' };
    await service.store.write((db) => auditActor(db, request, seen));
    const after = field(request.query, 'after') || undefined;
    return {
      kind: 'page',
      page: 'clinic-view',
      view: await buildClinicOverview(service, request, after),
    };
  });
}
