import type { RequestHandler, Response } from 'express';
import type { Log } from '../../log/log.js';
import { newRequestId, withRequestId } from '../../log/requestId.js';

const requestIdHeader = 'x-request-id';

/** What a request is called in the log, and on the page of one that failed. */
export function requestIdOf(response: Response): string {
  return String(response.getHeader(requestIdHeader) ?? '');
}

/** Gives each request an id of ours, whatever it brings along, under which everything is logged that it leads to. */
export const nameRequests: RequestHandler = (_request, response, next) => {
  const requestId = newRequestId();
  response.setHeader(requestIdHeader, requestId);
  withRequestId(requestId, next);
};

/** One line for each answer, with the pattern of the route and not the address that was asked for. */
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
