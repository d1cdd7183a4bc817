import express, { type Request, type Response, Router } from 'express';
import { addToken, linkOfCode } from '../../store/listeningLinks.js';
import { giveFeed } from '../acts/links.js';
import { keepReport } from '../acts/reports.js';
import { isPassword } from '../auth/passwords.js';
import { hashShortCode } from '../auth/shortCodes.js';
import { hashToken, newToken } from '../auth/tokens.js';
import { field } from '../forms/fields.js';
import { type Entry, entryOf, type Listener, pinCookieName } from '../listening/access.js';
import { listenView, manifest } from '../listening/page.js';
import { planFor } from '../listening/planFor.js';
import { textsOf } from '../routing.js';
import type { Service } from '../service.js';

const mostReportBytes = '500kb';
/** A device that gave the PIN is asked again after this long. */
const pinLastsMs = 180 * 24 * 60 * 60_000;

/**
 * The pages of listeners. Every address is below a secret of their own; one that does not work is answered in the same
 * way whatever the reason.
 */
export function listeningRoutes(service: Service): Router {
  const router = Router();
  const { store, pages, assets, listeningLimits: limits } = service;

  async function dead(request: Request, response: Response): Promise<void> {
    const isQuiet = await limits.mayMissLink(request.ip ?? 'unknown');
    response.status(isQuiet ? 404 : 429);
    if (wantsJson(request)) response.json({ problem: 'dead-link' });
    else response.send(pages.part('listen-dead', { assets }));
  }

  const pinPage = (response: Response, status: number, failed: 'wrong' | 'too-many' | null) =>
    response
      .status(status)
      .send(pages.part('listen-pin', { assets, failed, isTooMany: failed === 'too-many' }));

  const codePage = (response: Response, status: number, why: 'unknown' | 'too-many' | null) =>
    response
      .status(status)
      .send(
        pages.part('listen-code', { assets, isUnknown: why === 'unknown', isTooMany: why === 'too-many' }),
      );

  /** Lets in whom a link lets in; everyone else is answered here. */
  const open =
    (handle: (listener: Listener, request: Request, response: Response) => Promise<unknown>) =>
    async (request: Request, response: Response) => {
      const entry = await entryOf(request, service);
      if (entry.kind === 'open') return handle(entry.listener, request, response);
      if (entry.kind === 'dead') return dead(request, response);
      if (wantsJson(request)) return response.status(401).json({ problem: 'pin' });
      return pinPage(response, 401, null);
    };

  router.get('/l', (_request, response) => codePage(response, 200, null));
  router.post('/l', async (request, response) => {
    const code = field(textsOf(request.body), 'code');
    if (!(await limits.mayTryCode(request.ip ?? 'unknown'))) return codePage(response, 429, 'too-many');
    const codeHash = await hashShortCode(code);
    const nowMs = service.now();
    const link = await store.read((db) => linkOfCode(db, codeHash, nowMs));
    if (link === null) return codePage(response, 404, 'unknown');
    // The printed address is kept only as a hash: whoever types the code gets an address of their own.
    const token = newToken();
    const added = { linkId: link.linkId, tokenHash: hashToken(token), purpose: 'pages', nowMs } as const;
    await store.write((db) => addToken(db, added));
    return response.redirect(303, `/l/${token}/`);
  });

  const page = open(async (listener, _request, response) =>
    response.send(pages.part('listen', listenView(service, await planFor(service, listener)))),
  );
  router.get('/l/:token', (request, response) => {
    // The page's own addresses are relative to it.
    if (request.path.endsWith('/')) return page(request, response);
    return response.redirect(308, `/l/${request.params.token}/`);
  });
  router.post('/l/:token', async (request, response) => {
    const entry: Entry = await entryOf(request, service);
    if (entry.kind === 'dead') return dead(request, response);
    if (entry.kind === 'open') return response.redirect(303, './');
    const { linkId, pinHash } = entry.link;
    if (!(await limits.mayTryPin(linkId))) return pinPage(response, 429, 'too-many');
    if (!(await isPassword(field(textsOf(request.body), 'pin'), pinHash)))
      return pinPage(response, 401, 'wrong');
    await limits.forgetPin(linkId);
    const token = newToken();
    const given = { linkId, tokenHash: hashToken(token), purpose: 'pin', nowMs: service.now() } as const;
    await store.write((db) => addToken(db, given));
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
    open(async (listener, request, response) =>
      response.json(await keepReport(service, listener, request.body)),
    ),
  );
  router.post(
    '/l/:token/feed',
    open(async (listener, request, response) =>
      // A feed is of one person; whoever cares for several starts their sessions from the page.
      listener.isCaregiver
        ? dead(request, response)
        : response.json({ address: `/feed/${await giveFeed(service, listener.linkId)}.xml` }),
    ),
  );
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

/** Whether a script of the page asks, not somebody who opens a page. */
function wantsJson(request: Request): boolean {
  return !/^\/l\/[^/]+\/?$/.test(request.path);
}
