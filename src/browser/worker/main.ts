import { pageCache, pageCaches, soundCache } from '../listen/caches.js';
import { rangeOf } from './ranges.js';
import { focusOrOpenPage, showMessage, subscribeAgain } from './reminders.js';

/** Addresses of the page's style sheet and script, inserted by the bundler. */
declare const PAGE_ASSETS: string[];
declare const self: ServiceWorkerGlobalScope;

/** If the network takes longer than this to load the page, the stored page is used. */
const patienceMs = 4_000;
/** A mark that only the page itself has, not even the one that asks for the PIN at the same address. */
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
  // The page's own prefetch requests have to go to the service.
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

/** Returns the page from the service, or without a network the last stored one. */
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

/**
 * Removes stored data after an answer: all of it for a link that no longer opens, and the page for a link that asks for
 * its PIN, so that it does not open without the service.
 */
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

/** Stores the page. A page of another version has other assets, and that version's own worker stores it. */
async function keepPage(response: Response): Promise<void> {
  const text = await response.clone().text();
  if (!text.includes(pageMark) || !PAGE_ASSETS.every((address) => text.includes(address))) return;
  const cache = await caches.open(ownPages);
  await cache.put(scope, response);
}

async function asset(request: Request): Promise<Response> {
  return (await caches.match(request, { cacheName: ownPages })) ?? fetch(request);
}

/** Returns a sound from the page's cache, in any byte range, or else from the network. */
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
