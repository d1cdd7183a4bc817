import { type ErrorRequestHandler, Router } from 'express';
import type { HttpResources } from '../server/resources.js';
import { openDoor } from './door.js';
import { answerFault } from './faults.js';

/** The last of the listeners' routes: addresses that do not exist, and failures before anyone was admitted. */
export function listenerFaultRoutes(
  service: Pick<
    HttpResources,
    'store' | 'pages' | 'assets' | 'listeningLimits' | 'incidents' | 'words' | 'now'
  >,
): Router {
  const { dead } = openDoor(service);
  const onError: ErrorRequestHandler = (error: unknown, request, response, next) => {
    if (response.headersSent) return next(error);
    return answerFault(service, null, error, request, response);
  };
  const router = Router();
  router.all(/^\/(l|feed|calendar|unsubscribe)\//, (request, response) => dead(request, response));
  router.use(onError);
  return router;
}
