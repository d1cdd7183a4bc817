import type { Request, Response } from 'express';
import { clinicById } from '../../store/accounts/clinics.js';
import type { OpenLink } from '../../store/listening/listeningLinks.js';
import type { HttpResources } from '../server/resources.js';
import { entryOfRequest } from './entry.js';
import { admitListener, type Inside, opensPage } from './faults.js';
import { calledView } from './page.js';

/** What an address of the listening page is answered with, whoever asks. */
export type DoorResources = Pick<
  HttpResources,
  'store' | 'pages' | 'assets' | 'listeningLimits' | 'incidents' | 'words' | 'now'
>;

/** Responses of a listener's address to anyone it does not admit: the same whatever the reason. */
export type Door = {
  /** Admits whom a link admits; everyone else is answered here. */
  open(handle: Inside): (request: Request, response: Response) => Promise<unknown>;
  dead(request: Request, response: Response): Promise<void>;
  /** The page of {@link dead}, whatever was requested. */
  deadPage(request: Request, response: Response): Promise<void>;
  pinPage(request: Request, response: Response, shown: PinPage): Promise<void>;
};

type PinPage = { link: OpenLink; status: number; failed: 'wrong' | 'too-many' | 'locked' | null };

export function openDoor(service: DoorResources): Door {
  const { pages, assets, listeningLimits: limits } = service;
  const door: Door = {
    open: (handle) => async (request, response) => {
      const entry = await entryOfRequest(request, service);
      if (entry.kind === 'open') return admitListener(service, handle, entry.listener, request, response);
      if (entry.kind === 'dead') return door.dead(request, response);
      // The PIN page is at the address of the link itself.
      if (wantsJson(request) && opensPage(request))
        return response.redirect(303, `/l/${request.params.token}/`);
      if (wantsJson(request)) return response.status(401).json({ problem: 'pin' });
      return door.pinPage(request, response, { link: entry.link, status: 401, failed: null });
    },
    async dead(request, response) {
      // A phone whose link has ended must learn so, even if someone else at the same origin is guessing.
      if (wantsJson(request) && !opensPage(request))
        return void response.status(404).json({ problem: 'dead-link' });
      return door.deadPage(request, response);
    },
    async deadPage(request, response) {
      const isQuiet = await limits.mayMissLink(request.ip ?? 'unknown');
      response.status(isQuiet ? 404 : 429).send(pages.part('listen-dead', { assets }));
    },
    async pinPage(request, response, { link, status, failed }) {
      // Someone in need may have forgotten the PIN; the phone numbers do not reveal whose link it is.
      const clinic = calledView(await service.store.read((db) => clinicById(db, link.clinicId)));
      const isUnsent = isToldByForm(request);
      const why = { failed, isTooMany: failed === 'too-many', isLocked: failed === 'locked' };
      response.status(status).send(pages.part('listen-pin', { assets, clinic, isUnsent, ...why }));
    },
  };
  return door;
}

/** Whether a script of the page is asking, not someone who opens a page. */
function wantsJson(request: Request): boolean {
  return !/^\/l\/[^/]+\/?$/.test(request.path) && !isToldByForm(request);
}

/** Whether the form of the page without scripts is being sent. */
function isToldByForm({ path }: Request): boolean {
  return path.endsWith('/tell');
}
