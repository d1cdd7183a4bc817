import { type ErrorRequestHandler, Router } from 'express';
import type { DoorResources } from './door.js';
import { openDoor } from './door.js';
import { replyWithFault } from './faults.js';

/** The last of the listeners' routes: addresses that do not exist, and failures before anyone was admitted. */
export function listenerFaultRoutes(service: DoorResources): Router {
  const { dead } = openDoor(service);
  const onError: ErrorRequestHandler = (error: unknown, request, response, next) => {
    if (response.headersSent) return next(error);
    return replyWithFault(service, null, error, request, response);
  };
  const router = Router();
  router.all(/^\/(l|feed|calendar|unsubscribe)\//, (request, response) => dead(request, response));
  router.use(onError);
  return router;
}
