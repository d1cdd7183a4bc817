import type { Plan } from '../../listening/plan.js';
import { postSubscription, subscribe } from '../listen/push.js';
import { addressWithin, messageOf } from './message.js';

declare const self: ServiceWorkerGlobalScope;
/** What is shown for a message that cannot be read; put in when this is bundled. */
declare const PLAIN_MESSAGE: { title: string; body: string };

/** Shows a message until someone has seen it; a second copy of one takes the place of the first. */
export function showMessage(data: PushMessageData | null): Promise<void> {
  const message = messageOf(data?.text() ?? '') ?? { ...PLAIN_MESSAGE, tag: 'plain', address: null };
  const { title, body, tag, address } = message;
  return self.registration.showNotification(title, { body, tag, requireInteraction: true, data: address });
}

/** Goes to the page where it is open already, whatever it shows: it may be playing. Otherwise opens it. */
export async function focusOrOpenPage(notification: Notification): Promise<void> {
  notification.close();
  const page = self.registration.scope;
  const windows = await self.clients.matchAll({ type: 'window', includeUncontrolled: true });
  const open = windows.find(({ url }) => url.startsWith(page));
  await (open?.focus() ?? self.clients.openWindow(addressWithin(page, notification.data)));
}

/** The browser has given a subscription up: a new one takes its place as long as reminders are agreed on. */
export async function subscribeAgain(old: PushSubscription | null): Promise<void> {
  const { pushKey }: Plan = await (await fetch('plan.json')).json();
  if (old !== null) await postSubscription('push/end', old);
  if (pushKey !== undefined) await postSubscription('push', await subscribe(self.registration, pushKey));
}
