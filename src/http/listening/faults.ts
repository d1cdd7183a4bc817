import type { Request, Response } from 'express';
import type { Listener } from '../../clinic/listening/listener.js';
import { Refused } from '../../clinic/refusals.js';
import { clinicById } from '../../store/accounts/clinics.js';
import { errorResponse } from '../server/errorResponse.js';
import type { HttpResources } from '../server/resources.js';
import { calledView } from './page.js';

/** What a listener is answered with when something did not work. */
export type FaultResources = Pick<HttpResources, 'store' | 'pages' | 'assets' | 'incidents' | 'words'>;

/** Responses to an admitted listener. */
export type Inside = (listener: Listener, request: Request, response: Response) => Promise<unknown>;

/** Why a request at a listener's address is refused; each has its text in `listen-fault`. */
type Fault = 'not-made' | 'busy' | 'gone' | 'not-read' | 'not-done';

const goneStatus = 410;
const busyAgainSeconds = 60;

/** Responds to a listener whose session is not theirs, or no longer plays (RFC 9110, section 15.5.11). */
export function replyGone(
  service: Pick<HttpResources, 'store' | 'pages' | 'assets'>,
  listener: Listener,
  request: Request,
  response: Response,
): Promise<void> {
  return answer(service, listener, request, response.status(goneStatus), 'gone');
}

/**
 * Responds to a listener for whom something failed: in plain words with whom to call, or to a script in one word. The
 * failure is in the log and on the owner's home page, and here only as a reference.
 */
export function replyWithFault(
  service: FaultResources,
  listener: Pick<Listener, 'clinicId'> | null,
  error: unknown,
  request: Request,
  response: Response,
): Promise<void> {
  const { status, requestId } = errorResponse(error, service, response);
  const fault = faultOf(error, status, request);
  return answer(service, listener, request, response.status(status), fault, requestId);
}

/** Admits a listener; later failures are answered here. */
export async function admitListener(
  service: FaultResources,
  handle: Inside,
  listener: Listener,
  request: Request,
  response: Response,
): Promise<unknown> {
  try {
    return await handle(listener, request, response);
  } catch (error) {
    if (response.headersSent) throw error;
    return replyWithFault(service, listener, error, request, response);
  }
}

function faultOf(error: unknown, status: number, { path }: Request): Fault {
  if (error instanceof Refused && status === 503) return 'busy';
  if (status < 500) return 'not-read';
  return /\/(sessions|prompts)\/|^\/feed\//.test(path) ? 'not-made' : 'not-done';
}

async function answer(
  service: Pick<HttpResources, 'store' | 'pages' | 'assets'>,
  listener: Pick<Listener, 'clinicId'> | null,
  request: Request,
  response: Response,
  fault: Fault,
  requestId: string | null = null,
): Promise<void> {
  if (fault === 'busy') response.set('retry-after', String(busyAgainSeconds));
  if (!opensPage(request)) return void response.json({ problem: fault });
  const clinic = listener === null ? null : await calledClinic(service, listener.clinicId);
  const home = /^\/l\/[\w-]+\//.exec(request.path)?.[0] ?? null;
  const view = { assets: service.assets, why: { [fault]: true }, clinic, home, requestId };
  response.type('html').send(service.pages.part('listen-fault', view));
}

/** Null if the database fails as well: the page then says where to find the number. */
async function calledClinic(
  { store }: Pick<HttpResources, 'store'>,
  clinicId: string,
): Promise<object | null> {
  try {
    return calledView(await store.read((db) => clinicById(db, clinicId)));
  } catch {
    return null;
  }
}

/** Whether a person opens it in a browser; scripts and players do not request a page. */
export function opensPage(request: Request): boolean {
  return (request.get('accept') ?? '').includes('text/html');
}
