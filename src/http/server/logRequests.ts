import type { RequestHandler, Response } from 'express';
import type { Log } from '../../log/log.js';
import { newRequestId, withRequestId } from '../../log/requestId.js';

const requestIdHeader = 'x-request-id';

/** The id of a request in the log, and on the page of a failed one. */
export function requestIdOf(response: Response): string {
  return String(response.getHeader(requestIdHeader) ?? '');
}

/** Gives each request our own id, whatever it carries, under which everything it causes is logged. */
export const nameRequests: RequestHandler = (_request, response, next) => {
  const requestId = newRequestId();
  response.setHeader(requestIdHeader, requestId);
  withRequestId(requestId, next);
};

/** One line per response, with the route's pattern and not the requested address. */
export function logRequests(log: Log): RequestHandler {
  return (request, response, next) => {
    const startedAt = performance.now();
    response.on('finish', () => {
      const route: unknown = request.route;
      const pattern =
        typeof route === 'object' && route !== null && 'path' in route ? String(route.path) : 'none';
      log({
        event: 'request-answered',
        method: request.method,
        route: `${request.baseUrl}${pattern}`,
        status: response.statusCode,
        request: requestIdOf(response),
        ms: Math.round(performance.now() - startedAt),
      });
    });
    next();
  };
}
