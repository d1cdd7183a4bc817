import { randomUUID } from 'node:crypto';
import type { RequestHandler, Response } from 'express';
import type { Log } from '../../log/log.js';

const requestIdHeader = 'x-request-id';

/** What a request is called in the log, and on the page of one that failed. */
export function requestIdOf(response: Response): string {
  return String(response.getHeader(requestIdHeader) ?? '');
}

/**
 * One line for each answer, with the pattern of the route and not the address that was asked for. Each request gets an
 * id of ours, whatever it brings along.
 */
export function logRequests(log: Log): RequestHandler {
  return (request, response, next) => {
    const startedAt = performance.now();
    response.setHeader(requestIdHeader, randomUUID());
    response.on('finish', () => {
      const route: unknown = request.route;
      const pattern =
        typeof route === 'object' && route !== null && 'path' in route ? String(route.path) : 'none';
      log({
        event: 'answer',
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
