import { parseCookie } from 'cookie';
import { type Request, type Response, Router } from 'express';
import type { Actor } from '../../clinic/actor.js';
import { refused } from '../../clinic/refusals.js';
import { hashToken, sameSecret } from '../../clinic/tokens.js';
import { findSignIn, markSignInSeen } from '../../store/accounts/signInSessions.js';
import { ignoreSuperseded } from '../../store/engine/superseded.js';
import { type Device, deviceOf } from '../../text/device.js';
import { type PageName, pageTitle } from '../../text/pageTitles.js';
import { type Fields, field } from '../forms/fields.js';
import type { Frame } from '../templates/render.js';
import type { HttpResources } from './resources.js';

/** The resources for rendering every page. */
export type PageResources = Pick<HttpResources, 'store' | 'pages' | 'words' | 'assets' | 'now' | 'https'>;

const cookieName = 'stillcount';
/** A sign-in ends after this long without a request, and after this long in any case. */
export const idleMs = 60 * 60_000;
export const signInMs = 12 * 60 * 60_000;
/** How often, at most, activity is recorded: not every read should cause a write. */
const seenEveryMs = 60_000;

/** One request, independent of the web server. */
export type PageRequest = {
  params: Readonly<Record<string, string>>;
  query: Fields;
  fields: Fields;
  /** The origin, for rate limits only; never stored. */
  place: string;
  /** The browser and system that it claims to come from. */
  device: Device;
  /** The address of the service in the visitor's browser, for links to pass on. */
  origin: string;
  nowMs: number;
};
/** A request from a signed-in member. */
export type AuthenticatedRequest = PageRequest & Actor & { formToken: string; tokenHash: string };

export type PageReply =
  | { kind: 'page'; page: PageName; view: object; status?: number }
  | { kind: 'part'; page: string; view: object }
  | { kind: 'redirect'; to: string; signIn?: string | null }
  /** A cookie for the browser, whose name says nothing about the person. */
  | { kind: 'file'; type: string; name: string; bytes: Buffer }
  /** A drawing that says nothing about any person: the one reply that a browser may keep for a while. */
  | { kind: 'drawing'; svg: string };

export type PublicHandler = (visit: PageRequest) => Promise<PageReply>;
export type AuthenticatedHandler = (visit: AuthenticatedRequest) => Promise<PageReply>;

/** Registers the pages of one area. Members' pages redirect everyone else to the sign-in. */
export class Routes {
  readonly router = Router();
  readonly #service: PageResources;

  constructor(service: PageResources) {
    this.#service = service;
  }

  publicRoute(method: 'get' | 'post', path: string, handle: PublicHandler): this {
    this.router[method](path, async (request, response) => {
      this.#send(response, await handle(readPageRequest(request, this.#service.now())), null);
    });
    return this;
  }

  authenticatedRoute(method: 'get' | 'post', path: string, handle: AuthenticatedHandler): this {
    this.router[method](path, async (request, response) => {
      const authenticated = await authenticate(request, this.#service);
      if (authenticated === null) return response.redirect(303, '/sign-in');
      if (method === 'post') requireOwnForm(authenticated);
      this.#send(response, await handle(authenticated), authenticated);
    });
    return this;
  }

  #send(response: Response, reply: PageReply, authenticated: AuthenticatedRequest | null): void {
    if (reply.kind === 'redirect') {
      if (reply.signIn !== undefined) setCookie(response, reply.signIn, this.#service.https);
      response.redirect(303, reply.to);
    } else if (reply.kind === 'part') {
      response.json({ part: this.#service.pages.part(reply.page, reply.view) });
    } else if (reply.kind === 'file') {
      response.attachment(reply.name).type(reply.type).end(reply.bytes);
    } else if (reply.kind === 'drawing') {
      // Long enough for a visit, and soon over when the drawings change with the next version.
      response.set('cache-control', 'private, max-age=600').type('svg').send(reply.svg);
    } else {
      const frame = frameOf(
        this.#service,
        pageTitle(this.#service.words.titles, reply.page, reply.view),
        authenticated,
      );
      response.status(reply.status ?? 200).send(this.#service.pages.page(reply.page, frame, reply.view));
    }
  }
}

/** The sender of a request, or null if its cookie signs no one in. */
export async function authenticate(
  request: Request,
  service: Pick<HttpResources, 'store' | 'now'>,
): Promise<AuthenticatedRequest | null> {
  const token = cookieOf(request, cookieName);
  if (token === null) return null;
  const tokenHash = hashToken(token);
  const nowMs = service.now();
  const session = await service.store.read((db) => findSignIn(db, { tokenHash, nowMs, idleMs }));
  if (session === null) return null;
  const { lastSeenAtMs, ...who } = session;
  const mayWrite = who.clinician.role !== 'read-only';
  if (nowMs - lastSeenAtMs > seenEveryMs) {
    await service.store.write((db) => markSignInSeen(db, tokenHash, nowMs)).catch(ignoreSuperseded);
  }
  return { ...readPageRequest(request, nowMs), ...who, mayWrite, accessKeyId: null, tokenHash };
}

export function frameOf(
  service: Pick<HttpResources, 'assets'>,
  title: string,
  authenticated: AuthenticatedRequest | null,
): Frame {
  const person =
    authenticated === null
      ? null
      : {
          name: authenticated.clinician.name,
          clinicName: authenticated.clinician.clinicName,
          formToken: authenticated.formToken,
          isOwner: authenticated.clinician.role === 'owner',
        };
  return { title, person, assets: service.assets };
}

/** Rule PERM-10: a form is accepted only from the sign-in whose page contains it. */
function requireOwnForm(authenticated: AuthenticatedRequest): void {
  if (sameSecret(field(authenticated.fields, 'formToken'), authenticated.formToken)) return;
  throw refused('form-outdated');
}

function readPageRequest(request: Request, nowMs: number): PageRequest {
  const fields: unknown = request.body;
  return {
    params: paramsOf(request),
    query: textsOf(request.query),
    fields: textsOf(fields),
    place: request.ip ?? 'unknown',
    device: deviceOf(request.get('user-agent')),
    origin: `${request.protocol}://${request.get('host') ?? ''}`,
    nowMs,
  };
}

/** The parameters of a route. */
export function paramsOf(request: Request): Record<string, string> {
  const params = Object.entries(request.params).flatMap(([key, value]) =>
    typeof value === 'string' && !value.includes('\0') ? [[key, value]] : [],
  );
  return Object.fromEntries(params);
}

/**
 * Only text and lists of text; a body of any other shape has no fields.
 *
 * @throws Refused for a null character, which no database can store
 */
export function textsOf(body: unknown): Fields {
  if (typeof body !== 'object' || body === null) return {};
  const fields: Record<string, string | readonly string[]> = {};
  for (const [name, value] of Object.entries(body)) {
    if (JSON.stringify([name, value]).includes('\\u0000')) {
      throw refused('zero-character');
    }
    if (typeof value === 'string') fields[name] = value;
    else if (Array.isArray(value)) fields[name] = value.filter((item) => typeof item === 'string');
  }
  return fields;
}

/** A cookie of a request, or null. */
export function cookieOf(request: Request, name: string): string | null {
  return parseCookie(request.headers.cookie ?? '')[name] ?? null;
}

/** @param token null deletes the cookie */
function setCookie(response: Response, token: string | null, https: boolean): void {
  const options = { httpOnly: true, sameSite: 'lax', secure: https, path: '/' } as const;
  if (token === null) response.clearCookie(cookieName, options);
  else response.cookie(cookieName, token, { ...options, maxAge: signInMs });
}
