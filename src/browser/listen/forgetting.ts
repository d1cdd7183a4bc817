import { pageCaches, soundCache } from './caches.js';
import type { Shelf } from './shelf.js';

/** Removes everything of a link from this device, except reports that its people's next link will send. */
export async function forgetLink(scope: string, shelf: Shelf): Promise<void> {
  shelf.clear();
  if ('caches' in window) {
    const own = (await caches.keys()).filter(
      (name) => name === soundCache(scope) || name.startsWith(pageCaches(scope)),
    );
    await Promise.all(own.map((name) => caches.delete(name)));
  }
  const registration = await navigator.serviceWorker?.getRegistration(scope);
  await registration?.unregister();
}
