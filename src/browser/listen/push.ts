/** What the page and its service worker both do with a browser's subscription (W3C Push API). */
export function subscribe(
  { pushManager }: ServiceWorkerRegistration,
  applicationServerKey: string,
): Promise<PushSubscription> {
  return pushManager.subscribe({ userVisibleOnly: true, applicationServerKey });
}

/**
 * Tells the service that a subscription is there, or has ended; or asks whether it is known.
 *
 * @returns whether reminders come through it now; null when the service was not reached or refused
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
