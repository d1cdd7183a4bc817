import { readPatient } from '../../../clinic/people/openRecord.js';
import { followUpView } from './progressView.js';
import { periodOf } from '../../../text/periods.js';
import { field } from '../../forms/fields.js';
import { Routes } from '../../server/routing.js';
import type { Service } from '../../server/resources.js';

/** One person's follow-up: what was done and how it felt. */
export function followUpRoutes(service: Service): Routes {
  return new Routes(service).member('get', '/patients/:id/follow-up', async (visit) => {
    const patient = await readPatient(service, visit, visit.params.id ?? '');
    const period = periodOf(field(visit.query, 'period'));
    return {
      kind: 'page',
      page: 'follow-up',
      title: `Follow-up: ${patient.name}`,
      view: await followUpView(service, visit, { patient, period }),
    };
  });
}
