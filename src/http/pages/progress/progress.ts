import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { readChart } from '../../../clinic/people/chart.js';
import { periodOf } from '../../../text/periods.js';
import { field } from '../../forms/fields.js';
import type { PageResources } from '../../server/routing.js';
import { Routes } from '../../server/routing.js';
import { followUpView } from './progressView.js';

/** A patient's progress: what was done and how it felt. */
export function followUpRoutes(service: PageResources & PlaybackResources): Routes {
  return new Routes(service).authenticatedRoute('get', '/patients/:id/follow-up', async (request) => {
    const chart = await readChart(service, request, request.params.id ?? '');
    const period = periodOf(field(request.query, 'period'));
    return {
      kind: 'page',
      page: 'follow-up',
      view: await followUpView(service, request, { chart, period }),
    };
  });
}
