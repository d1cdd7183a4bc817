import { type Request, type Response, Router } from 'express';
import {
  findMessages,
  type Messages,
  resumeMessages,
  stopMessages,
} from '../../clinic/reminding/unsubscribe.js';
import { clinicById } from '../../store/accounts/clinics.js';
import type { HttpResources } from '../server/resources.js';
import type { DoorResources } from './door.js';
import { openDoor } from './door.js';
import { calledView } from './page.js';

/** What the page says first: nothing was done yet, something was done just now or earlier, or it was not ended here. */
type Said = 'ask' | 'stopped' | 'stopped-before' | 'resumed' | 'ended';

/**
 * Where a recipient unsubscribes. Opening the page changes nothing: mail scanners open every link. A mail program may
 * unsubscribe with a POST (RFC 8058), which carries no cookie and no form token, and is answered without a redirect;
 * its body is ignored.
 */
export function unsubscribeRoutes(service: DoorResources & Pick<HttpResources, 'reminderSecrets'>): Router {
  const router = Router();
  const { store, pages, assets } = service;
  const { deadPage } = openDoor(service);

  /** @param find describes the messages; null for an unknown token */
  const answer =
    (find: (token: string) => Promise<{ messages: Messages; said: Said } | null>) =>
    async (request: Request, response: Response) => {
      const token = String(request.params.token);
      const found = await find(token);
      if (found === null) return deadPage(request, response);
      const { owner, channel, clinicId, standingId, mayResume } = found.messages;
      const clinic = await store.read((db) => clinicById(db, clinicId));
      const view = {
        assets,
        address: `/unsubscribe/${token}`,
        says: { [found.said]: true },
        by: { [channel]: true },
        isForClinician: 'clinicianId' in owner,
        isForCaregiver: 'caregiverPersonId' in owner,
        isForPatient: 'patientId' in owner,
        isStanding: standingId !== null,
        mayResume: mayResume && found.said !== 'ended',
        clinic: calledView(clinic),
      };
      return response.send(pages.part('unsubscribe', view));
    };

  router.get(
    '/unsubscribe/:token',
    answer(async (token) => {
      const messages = await findMessages(service, token);
      return messages === null ? null : { messages, said: saidOf(messages) };
    }),
  );
  router.post(
    '/unsubscribe/:token',
    answer(async (token) => {
      const stopped = await stopMessages(service, token);
      if (stopped === null) return null;
      const { messages, hasChanged } = stopped;
      return { messages, said: hasChanged ? 'stopped' : saidOf(messages) };
    }),
  );
  router.post(
    '/unsubscribe/:token/again',
    answer(async (token) => {
      const resumed = await resumeMessages(service, token);
      if (resumed === null) return null;
      const { messages } = resumed;
      return { messages, said: messages.standingId === null ? 'ended' : 'resumed' };
    }),
  );
  return router;
}

function saidOf({ standingId, mayResume }: Messages): Said {
  if (standingId !== null) return 'ask';
  return mayResume ? 'stopped-before' : 'ended';
}
