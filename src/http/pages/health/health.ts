import { setTimeout as after } from 'node:timers/promises';
import { Router } from 'express';
import { hasClinic } from '../../../store/accounts/clinicians.js';
import type { HttpResources } from '../../server/resources.js';

const databaseMs = 2_000;

/**
 * For monitoring from outside: `/healthz` says that the process is alive, `/readyz` whether the database answers,
 * messages are being sent and no required part is failing. Neither reveals anything about anyone, and neither is
 * logged.
 */
export function healthRoutes({ store, life }: Pick<HttpResources, 'store' | 'life'>): Router {
  return Router()
    .get('/healthz', (_request, response) => {
      response.set('cache-control', 'no-store').json({ status: 'alive' });
    })
    .get('/readyz', async (_request, response) => {
      const waiting = new AbortController();
      const database = await Promise.race([
        store.read(hasClinic).then(
          () => 'answers',
          () => 'fails',
        ),
        after(databaseMs, 'does not answer', { signal: waiting.signal }).catch(() => 'does not answer'),
      ]);
      waiting.abort();
      const standsStill = life.standsStill();
      const faults = life.faults();
      const isWell = standsStill.length === 0 && faults.length === 0;
      const isReady = database === 'answers' && isWell && !life.isStopping;
      response
        .status(isReady ? 200 : 503)
        .set('cache-control', 'no-store')
        .json({ isReady, database, standsStill, faults, isStopping: life.isStopping });
    });
}
