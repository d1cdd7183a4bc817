/** Subscribes a browser to push messages (W3C Push API), for both the page and its service worker. */
export function subscribe(
  { pushManager }: ServiceWorkerRegistration,
  applicationServerKey: string,
): Promise<PushSubscription> {
  return pushManager.subscribe({ userVisibleOnly: true, applicationServerKey });
}

/**
 * Tells the service that a subscription exists or has ended, or asks whether the service knows it.
 *
 * @returns whether reminders now come through it; null when the service was not reached or refused
 */
export async function postSubscription(
  address: 'push' | 'push/end' | 'push/known',
  subscription: PushSubscription,
): Promise<boolean | null> {
  const headers = { 'content-type': 'application/json' };
  const init = { method: 'POST', headers, body: JSON.stringify(subscription) };
  const response = await fetch(address, init).catch(() => null);
  if (response === null || !response.ok) return null;
  const { isOn }: { isOn: boolean } = await response.json();
  return isOn;
}
