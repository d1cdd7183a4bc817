import express, { type Response, Router } from 'express';
import { isPassword } from '../../clinic/accounts/passwords.js';
import { hashShortCode } from '../../clinic/accounts/shortCodes.js';
import {
  createReaderAddress,
  createTypedAddress,
  type OtherReader,
  revokeReaderAddress,
} from '../../clinic/listening/links.js';
import type { PlaybackResources } from '../../clinic/listening/notPlayable.js';
import { planFor } from '../../clinic/listening/planFor.js';
import { reportPlaces } from '../../clinic/listening/reportPlaces.js';
import { hashToken, newToken } from '../../clinic/tokens.js';
import { addToken, linkOfCode, recordPinAttempt } from '../../store/listening/listeningLinks.js';
import { dayMs } from '../../time/units.js';
import { field } from '../forms/fields.js';
import type { HttpResources } from '../server/resources.js';
import { textsOf } from '../server/routing.js';
import type { DoorResources } from './door.js';
import { openDoor } from './door.js';
import { entryOfRequest, pinCookieName } from './entry.js';
import { listenView, manifest } from './page.js';
import { receiveReport } from './receiveReport.js';

const mostReportBytes = '500kb';
/** How long before a device that gave the PIN is asked again. */
const pinLastsMs = 180 * dayMs;
/** Consecutive wrong PINs: beyond this someone is guessing, and the clinic gives a new link. */
const mostWrongPins = 30;

/**
 * The pages of listeners. Every address is below a secret; an invalid one is answered the same way whatever the reason.
 */
export function listeningRoutes(
  service: DoorResources &
    PlaybackResources &
    Pick<HttpResources, 'reminderSecrets' | 'channelNames' | 'https'>,
): Router {
  const router = Router();
  router.use('/l', express.urlencoded({ extended: false, limit: '10kb' }));
  const { store, pages, assets, listeningLimits: limits } = service;
  const { open, dead, pinPage } = openDoor(service);

  const codePage = (response: Response, status: number, why: 'unknown' | 'too-many' | null) =>
    response
      .status(status)
      .send(
        pages.part('listen-code', { assets, isUnknown: why === 'unknown', isTooMany: why === 'too-many' }),
      );

  router.get('/l', (_request, response) => codePage(response, 200, null));
  router.post('/l', async (request, response) => {
    const code = field(textsOf(request.body), 'code');
    if (!(await limits.mayTryCode(request.ip ?? 'unknown'))) return codePage(response, 429, 'too-many');
    const codeHash = await hashShortCode(code);
    const nowMs = service.now();
    const link = await store.read((db) => linkOfCode(db, codeHash, nowMs));
    if (link === null) return codePage(response, 404, 'unknown');
    await limits.forgiveCode(request.ip ?? 'unknown');
    return response.redirect(303, `/l/${await createTypedAddress(service, link)}/`);
  });

  const page = open(async (listener, _request, response) => {
    const plan = await planFor(service, listener);
    const places = await reportPlaces(service, listener, plan);
    return response.send(pages.part('listen', listenView(service, plan, places)));
  });
  router.get('/l/:token', (request, response) => {
    // The page's own addresses are relative to it.
    if (request.path.endsWith('/')) return page(request, response);
    return response.redirect(308, `/l/${request.params.token}/`);
  });
  router.post('/l/:token', async (request, response) => {
    const entry = await entryOfRequest(request, service);
    if (entry.kind === 'dead') return dead(request, response);
    if (entry.kind === 'open') return response.redirect(303, './');
    const { linkId, pinHash, wrongPins } = entry.link;
    if (wrongPins >= mostWrongPins)
      return pinPage(request, response, { link: entry.link, status: 401, failed: 'locked' });
    if (!(await limits.mayTryPin(linkId)))
      return pinPage(request, response, { link: entry.link, status: 429, failed: 'too-many' });
    const isRight = await isPassword(field(textsOf(request.body), 'pin'), pinHash);
    await store.write((db) => recordPinAttempt(db, linkId, isRight));
    if (!isRight) return pinPage(request, response, { link: entry.link, status: 401, failed: 'wrong' });
    const token = newToken();
    const pinToken = { linkId, tokenHash: hashToken(token), purpose: 'pin', nowMs: service.now() } as const;
    await store.write((db) => addToken(db, pinToken));
    response.cookie(pinCookieName, token, {
      httpOnly: true,
      sameSite: 'strict',
      secure: service.https,
      path: `/l/${request.params.token}`,
      maxAge: pinLastsMs,
    });
    return response.redirect(303, './');
  });

  router.get(
    '/l/:token/plan.json',
    open(async (listener, _request, response) => response.json(await planFor(service, listener))),
  );
  router.post(
    '/l/:token/report',
    express.json({ limit: mostReportBytes }),
    open(async (listener, request, response) => {
      const answer = await receiveReport(service, listener, request.body);
      if (answer === 'too-many') return response.status(429).json({ problem: 'too-many' });
      return response.json(answer);
    }),
  );
  for (const purpose of ['feed', 'calendar'] satisfies OtherReader[]) {
    router.post(
      `/l/:token/${purpose}`,
      open(async (listener, request, response) =>
        // A calendar or feed is for one patient; caregivers of several start their sessions from the page.
        listener.isCaregiver
          ? dead(request, response)
          : response.json({ address: await createReaderAddress(service, listener, purpose) }),
      ),
    );
    router.post(
      `/l/:token/${purpose}/end`,
      open(async (listener, _request, response) => {
        await revokeReaderAddress(service, listener, purpose);
        return response.json({});
      }),
    );
  }
  router.get(
    '/l/:token/worker.js',
    open(async (_listener, _request, response) => response.type('text/javascript').send(assets.worker)),
  );
  router.get(
    '/l/:token/manifest.webmanifest',
    open(async (_listener, _request, response) =>
      response.type('application/manifest+json').send(JSON.stringify(manifest())),
    ),
  );
  router.get(
    '/l/:token/icon.svg',
    open(async (_listener, _request, response) =>
      response.type('image/svg+xml').send(pages.part('listen-icon', {})),
    ),
  );
  return router;
}
