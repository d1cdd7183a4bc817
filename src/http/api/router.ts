import express, { type ErrorRequestHandler, type Request, Router } from 'express';
import type { z } from 'zod';
import type { Actor } from '../../clinic/actor.js';
import { refused } from '../../clinic/refusals.js';
import { hashToken } from '../../clinic/tokens.js';
import { inputError } from '../../errors/stillcountError.js';
import { findKeyOwner, markKeyUsed } from '../../store/accounts/accessKeys.js';
import { ignoreSuperseded } from '../../store/engine/superseded.js';
import { pathText, problemsOf } from '../../yaml/zodProblems.js';
import { errorResponse } from '../server/errorResponse.js';
import type { HttpResources } from '../server/resources.js';
import { paramsOf } from '../server/routing.js';
import { openApiDocument } from './document.js';
import type { Endpoint } from './endpoint/endpoint.js';
import { careEndpoints } from './endpoints/care.js';
import { clinicEndpoints } from './endpoints/clinic.js';
import { peopleEndpoints } from './endpoints/people.js';
import { prescriptionEndpoints } from './endpoints/prescriptions.js';
import { recordEndpoints } from './endpoints/record.js';

const mostBodyBytes = 300_000;
/** How often, at most, the last use of a key is recorded: not every read should cause a write. */
const seenEveryMs = 60_000;

const endpoints: readonly Endpoint[] = [
  ...peopleEndpoints,
  ...careEndpoints,
  ...prescriptionEndpoints,
  ...clinicEndpoints,
  ...recordEndpoints,
];

/** Created on the first request: doing it at each start would take a tenth of a second. */
let document: object | undefined;

/** The JSON API for a clinic's other programs. It accepts no cookie, so no page of another site can use it. */
export function apiRouter(service: HttpResources): Router {
  const router = Router();
  router.get('/openapi.json', (_request, response) => {
    document ??= openApiDocument(endpoints);
    response.json(document);
  });
  router.use(express.json({ limit: mostBodyBytes, strict: false }));
  for (const each of endpoints) {
    const path = each.path.replace(/\{(\w+)\}/g, ':$1');
    router[each.method](path, async (request, response) => {
      const actor = await actorOf(request, service);
      const answer = await each.handle({
        service,
        actor,
        params: paramsOf(request),
        query: checked(each.query, request.query, 'query'),
        body: checked(each.body, request.body, 'body'),
      });
      response.status(each.status);
      if (each.produces !== undefined) response.type(each.produces).end(answer);
      else if (each.result === undefined) response.end();
      else response.json(each.result.parse(answer));
    });
  }
  router.use(() => {
    throw refused('no-such-endpoint');
  });
  router.use(problemsAsJson(service));
  return router;
}

/** @throws Refused without a valid key */
async function actorOf(request: Request, { store, now }: HttpResources): Promise<Actor> {
  const token = /^Bearer ([\w-]{43})$/.exec(request.headers.authorization ?? '')?.[1];
  const found = token === undefined ? null : await store.read((db) => findKeyOwner(db, hashToken(token)));
  if (found === null) throw refused('key-not-valid');
  const nowMs = now();
  if (isStale(found.lastSeenAtMs, nowMs))
    await store.write((db) => markKeyUsed(db, found.accessKeyId, nowMs)).catch(ignoreSuperseded);
  const { clinician, accessKeyId } = found;
  return { clinician, accessKeyId, mayWrite: found.mayWrite && clinician.role !== 'read-only', nowMs };
}

function isStale(lastSeenAtMs: number | null, nowMs: number): boolean {
  return lastSeenAtMs === null || nowMs - lastSeenAtMs > seenEveryMs;
}

function checked(schema: z.ZodType | undefined, value: unknown, place: string): unknown {
  if (schema === undefined) return undefined;
  const parsed = schema.safeParse(value);
  if (parsed.success) return parsed.data;
  throw inputError(
    problemsOf(parsed.error, value, schema).map(({ path, ...problem }) => ({
      ...problem,
      path: pathText([place, ...path.keys]),
    })),
  );
}

function problemsAsJson(service: HttpResources): ErrorRequestHandler {
  return (error: unknown, _request, response, next) => {
    if (response.headersSent) return next(error);
    const { status, code, heading, problems, requestId } = errorResponse(error, service, response);
    if (status === 401) response.set('www-authenticate', 'Bearer');
    response.status(status).json({ code, heading, problems, ...(requestId === null ? {} : { requestId }) });
  };
}
