import type { Request } from 'express';
import { type Entry, resolveEntry } from '../../clinic/listening/listener.js';
import type { HttpResources } from '../server/resources.js';
import { cookieOf } from '../server/routing.js';

/** Devices that have given the PIN carry this cookie, at the address of their link only. */
export const pinCookieName = 'stillcount-pin';

/** Whom the address of a request admits. */
export async function entryOfRequest(
  request: Request,
  service: Pick<HttpResources, 'store' | 'now'>,
): Promise<Entry> {
  const { token } = request.params;
  if (typeof token !== 'string') return { kind: 'dead' };
  return resolveEntry(service, { token, givenPin: cookieOf(request, pinCookieName) });
}
