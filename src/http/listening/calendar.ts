import { Router } from 'express';
import type { PlaybackResources } from '../../clinic/listening/notPlayable.js';
import { calendarFor } from './calendarFor.js';
import type { DoorResources } from './door.js';
import { openReaderDoor } from './readerDoor.js';

/** A patient's sessions for calendar apps, under a separate token. */
export function calendarRoutes(service: DoorResources & PlaybackResources): Router {
  const router = Router();
  const open = openReaderDoor(service, 'calendar');
  router.get(
    '/calendar/:token.ics',
    open(async (listener, _request, response) => {
      // It is polled; Express responds with 304 while it is unchanged.
      response.set('cache-control', 'private, no-cache').type('text/calendar; charset=utf-8');
      return response.send(await calendarFor(service, listener));
    }),
  );
  return router;
}
