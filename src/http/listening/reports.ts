import express, { type ErrorRequestHandler, type Response, Router } from 'express';
import { clinicById } from '../../store/accounts/clinics.js';
import { errorResponse } from '../server/errorResponse.js';
import type { HttpResources } from '../server/resources.js';
import { textsOf } from '../server/routing.js';
import type { DoorResources } from './door.js';
import { openDoor } from './door.js';
import { calledView } from './page.js';
import { plainReport } from './plainForm.js';
import { receiveReport } from './receiveReport.js';

/** A note of 2,000 characters, each of which may be encoded as nine, and everything else. */
const mostBytes = '100kb';
/** RFC 9110, section 15.5.14. */
const tooLargeStatus = 413;

type Told = { clinicId: string; status: number; signs: readonly string[]; requestId?: string | null };

/**
 * The form of a listening page without scripts. It stores what a phone's own reports would, in the same way; like them
 * it needs no other proof than the secret in its address. It says that the clinic has it only if it has.
 */
export function listeningReportRoutes(
  service: DoorResources & Pick<HttpResources, 'workshop' | 'reminderSecrets'>,
): Router {
  const router = Router();
  const { store, pages, assets, workshop } = service;
  const { open } = openDoor(service);

  const answer = async (response: Response, { clinicId, status, signs, requestId = null }: Told) => {
    const clinic = calledView(await store.read((db) => clinicById(db, clinicId)));
    const noticed = workshop.warningSigns.signs.filter(({ id }) => signs.includes(id));
    const isEmergency = noticed.some(({ urgency }) => urgency === 'emergency');
    const isTooLong = status === tooLargeStatus;
    const view = {
      assets,
      clinic,
      isKept: status === 200,
      isTooLong,
      isEmergency,
      signs: noticed,
      requestId,
    };
    response.status(status).send(pages.part('listen-told', view));
  };

  // A sender whose body cannot be read, or is too long, must still get the phone numbers.
  const onUnread: ErrorRequestHandler = (error: unknown, request, response, _next) =>
    open(async ({ clinicId }) => {
      const { status, requestId } = errorResponse(error, service, response);
      return answer(response, { clinicId, status, signs: [], requestId });
    })(request, response);

  router.post(
    '/l/:token/tell',
    express.urlencoded({ extended: false, limit: mostBytes }),
    open(async (listener, request, response) => {
      const { clinicId } = listener;
      let signs: readonly string[] = [];
      try {
        const report = plainReport(textsOf(request.body), service.now());
        signs = report.signs;
        const sent = { sentAtMs: service.now(), items: report.items };
        const result = await receiveReport(service, listener, sent);
        if (result === 'too-many') return await answer(response, { clinicId, status: 429, signs });
        const isKept = result.keptIds.length === report.items.length;
        return await answer(response, { clinicId, status: isKept ? 200 : 400, signs });
      } catch (error) {
        // Someone who reports that something is wrong must not be left with a page without a phone number.
        const { status, requestId } = errorResponse(error, service, response);
        return await answer(response, { clinicId, status, signs, requestId });
      }
    }),
    onUnread,
  );
  return router;
}
