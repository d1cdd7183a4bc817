import { readChart } from '../../../clinic/people/openRecord.js';
import { periodOf } from '../../../text/periods.js';
import { field } from '../../forms/fields.js';
import type { HttpResources } from '../../server/resources.js';
import { Routes } from '../../server/routing.js';
import { followUpView } from './progressView.js';

/** A patient's progress: what was done and how it felt. */
export function followUpRoutes(
  service: Pick<
    HttpResources,
    'store' | 'workshop' | 'pages' | 'words' | 'assets' | 'lengths' | 'versions' | 'now' | 'https'
  >,
): Routes {
  return new Routes(service).authenticatedRoute('get', '/patients/:id/follow-up', async (visit) => {
    const chart = await readChart(service, visit, visit.params.id ?? '');
    const period = periodOf(field(visit.query, 'period'));
    return {
      kind: 'page',
      page: 'follow-up',
      view: await followUpView(service, visit, { chart, period }),
    };
  });
}
