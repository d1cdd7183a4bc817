import type { Plan } from '../../listening/plan.js';
import { postSubscription, subscribe } from '../listen/push.js';
import { addressWithin, messageOf } from './message.js';

declare const self: ServiceWorkerGlobalScope;
/** The message for one that cannot be read, inserted by the bundler. */
declare const PLAIN_MESSAGE: { title: string; body: string };

/** Shows a message until someone dismisses it; a second copy replaces the first. */
export function showMessage(data: PushMessageData | null): Promise<void> {
  const message = messageOf(data?.text() ?? '') ?? { ...PLAIN_MESSAGE, tag: 'plain', address: null };
  const { title, body, tag, address } = message;
  return self.registration.showNotification(title, { body, tag, requireInteraction: true, data: address });
}

/** Focuses the page if it is already open, without changing its view because it may be playing; otherwise opens it. */
export async function focusOrOpenPage(notification: Notification): Promise<void> {
  notification.close();
  const page = self.registration.scope;
  const windows = await self.clients.matchAll({ type: 'window', includeUncontrolled: true });
  const open = windows.find(({ url }) => url.startsWith(page));
  await (open?.focus() ?? self.clients.openWindow(addressWithin(page, notification.data)));
}

/** Replaces a subscription that the browser has ended, as long as reminders are agreed. */
export async function subscribeAgain(old: PushSubscription | null): Promise<void> {
  const { pushKey }: Plan = await (await fetch('plan.json')).json();
  if (old !== null) await postSubscription('push/end', old);
  if (pushKey !== undefined) await postSubscription('push', await subscribe(self.registration, pushKey));
}
