import express, { Router } from 'express';
import type { Listener } from '../../clinic/listening/listener.js';
import { hasPush, startPush, stopPush } from '../../clinic/listening/push.js';
import type { HttpResources } from '../server/resources.js';
import type { DoorResources } from './door.js';
import { openDoor } from './door.js';

const mostBytes = '10kb';

/** A listener's phone turns reminders on or off, or asks whether they are on. */
export function listeningPushRoutes(service: DoorResources & Pick<HttpResources, 'reminderSecrets'>): Router {
  const router = Router();
  const { open } = openDoor(service);

  /** @param act returns whether reminders are now on there */
  const answer = (path: string, act: (listener: Listener, body: unknown) => Promise<boolean>) =>
    router.post(
      `/l/:token/${path}`,
      express.json({ limit: mostBytes }),
      open(async (listener, request, response) => {
        if (!(await service.listeningLimits.mayAskForPush(listener.linkId)))
          return response.status(429).json({ problem: 'too-many' });
        return response.json({ isOn: await act(listener, request.body) });
      }),
    );

  answer('push', async (listener, body) => {
    await startPush(service, listener, body);
    return true;
  });
  answer('push/end', async (listener, body) => {
    await stopPush(service, listener, body);
    return false;
  });
  answer('push/known', (listener, body) => hasPush(service, listener, body));
  return router;
}
