/** Addresses of the page's style sheet and script; put in when this is bundled. */
declare const PAGE_ASSETS: string[];
declare const self: ServiceWorkerGlobalScope;

self.addEventListener('install', (event) => {
  event.waitUntil(caches.open('page').then((cache) => cache.addAll(PAGE_ASSETS)));
});
