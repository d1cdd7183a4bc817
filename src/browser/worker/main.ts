import { pageCache, pageCaches, soundCache } from '../listen/caches.js';
import { rangeOf } from './ranges.js';
import { focusOrOpenPage, showMessage, subscribeAgain } from './reminders.js';

/** Addresses of the page's style sheet and script; put in when this is bundled. */
declare const PAGE_ASSETS: string[];
declare const self: ServiceWorkerGlobalScope;

/** A network that takes longer than this to bring the page is as good as none. */
const patienceMs = 4_000;
/** In the page itself and on no other, not even on the one that asks for the PIN at the same address. */
const pageMark = 'data-listening-page';

const scope = new URL('./', self.location.href).pathname;
const ownPages = pageCache(scope, PAGE_ASSETS.join(' '));

self.addEventListener('install', (event) => {
  event.waitUntil(install());
});

self.addEventListener('activate', (event) => {
  event.waitUntil(activate());
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== self.location.origin) return;
  if (pathname === scope) {
    if (request.mode === 'navigate') event.respondWith(page(request));
  } else if (pathname === `${scope}plan.json`) event.respondWith(plan(request));
  else if (PAGE_ASSETS.includes(pathname)) event.respondWith(asset(request));
  // What the page fetches in order to keep it, it wants from the service.
  else if (/^(sessions|prompts)\//.test(pathname.slice(scope.length)) && request.cache !== 'reload')
    event.respondWith(sound(request));
});

self.addEventListener('push', (event) => {
  event.waitUntil(showMessage(event.data));
});

self.addEventListener('notificationclick', (event) => {
  event.waitUntil(focusOrOpenPage(event.notification));
});

self.addEventListener('pushsubscriptionchange', (event) => {
  event.waitUntil(subscribeAgain(event.oldSubscription));
});

async function install(): Promise<void> {
  const cache = await caches.open(ownPages);
  await cache.addAll(PAGE_ASSETS);
  const response = await fetch(scope, { cache: 'reload' });
  await keepPage(response);
  await self.skipWaiting();
}

async function activate(): Promise<void> {
  const old = (await caches.keys()).filter((name) => name.startsWith(pageCaches(scope)) && name !== ownPages);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

/** The page as the service has it; without a network as it was the last time. */
async function page(request: Request): Promise<Response> {
  const cached = () => caches.match(scope, { cacheName: ownPages });
  const fetching = fetch(request).then(async (response) => {
    if (response.ok) await keepPage(response.clone()).catch(() => undefined);
    await forgetAfter(response);
    return response;
  });
  const timely = await Promise.race([fetching.catch(() => null), later(patienceMs)]);
  if (timely !== null && timely.status < 500) return timely;
  return (await cached()) ?? fetching;
}

async function plan(request: Request): Promise<Response> {
  const response = await fetch(request);
  await forgetAfter(response);
  return response;
}

/** A link that no longer opens leaves nothing here; one that wants its PIN does not open without the service. */
async function forgetAfter({ status }: Response): Promise<void> {
  if (status !== 404 && status !== 401) return;
  const pages = (await caches.keys()).filter((name) => name.startsWith(pageCaches(scope)));
  if (status === 401) {
    await Promise.all(pages.map(async (name) => (await caches.open(name)).delete(scope)));
  } else {
    await Promise.all([...pages, soundCache(scope)].map((name) => caches.delete(name)));
    await self.registration.unregister();
  }
}

/** A page of another version names other assets, and is kept by that version's own worker. */
async function keepPage(response: Response): Promise<void> {
  const text = await response.clone().text();
  if (!text.includes(pageMark) || !PAGE_ASSETS.every((address) => text.includes(address))) return;
  const cache = await caches.open(ownPages);
  await cache.put(scope, response);
}

async function asset(request: Request): Promise<Response> {
  return (await caches.match(request, { cacheName: ownPages })) ?? fetch(request);
}

/** From what the page keeps, in any byte range; else from the network. */
async function sound(request: Request): Promise<Response> {
  const cached = await caches.match(request.url, { cacheName: soundCache(scope) });
  if (cached === undefined) return fetch(request);
  const range = request.headers.get('range');
  const validator = request.headers.get('if-range');
  if (range === null || (validator !== null && validator !== cached.headers.get('etag'))) return cached;
  const body = await cached.blob();
  const wanted = rangeOf(range, body.size);
  const headers = new Headers(cached.headers);
  if (wanted === null) return new Response(body, { headers });
  if (wanted === 'unsatisfiable') {
    return new Response(null, { status: 416, headers: { 'content-range': `bytes */${body.size}` } });
  }
  const { first, last } = wanted;
  headers.set('content-range', `bytes ${first}-${last}/${body.size}`);
  headers.set('content-length', String(last - first + 1));
  return new Response(body.slice(first, last + 1), { status: 206, headers });
}

function later(ms: number): Promise<null> {
  return new Promise((resolve) => setTimeout(() => resolve(null), ms));
}
