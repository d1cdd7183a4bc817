import { requireElement, writeText } from './dom.js';
import type { Parts } from './parts.js';
import { postSubscription, subscribe } from './push.js';

const hindrances = ['insecure', 'home-screen', 'impossible'] as const;
type Hindrance = (typeof hindrances)[number];
/** State of the reminders. `refused`: this browser was told never to ask. `away`: the push service was not reached. */
type State = Hindrance | 'off' | 'on' | 'refused' | 'unanswered' | 'away';

/** How long to wait for a push service before saying that it does not answer. */
const patienceMs = 20_000;

/**
 * Sets up reminders on this device, where they are agreed. @param settings the element that opens and closes over them
 */
export function openReminderSettings({ words, plans }: Parts, settings: HTMLDetailsElement): void {
  const area = requireElement(settings, '[data-reminding]');
  const box = requireElement<HTMLInputElement>(area, 'input');
  const say = (state: State | 'wait') => writeText(area, 'reminding', words.say(`reminding-${state}`));
  let turn = Promise.resolve();

  /** Runs one change after the other, however quickly the box is pressed. */
  function settle(work: () => Promise<State>): void {
    turn = turn.then(async () => {
      const slow = setTimeout(() => say('away'), patienceMs);
      const state = await work().catch(() => 'away' as const);
      clearTimeout(slow);
      box.checked = state === 'on';
      requireElement(area, 'label').hidden = hindrances.some((hindrance) => hindrance === state);
      say(state);
    });
  }
  const lookIfOpen = () => {
    area.hidden = plans.plan.pushKey === undefined;
    if (settings.open && !area.hidden) settle(look);
  };
  lookIfOpen();
  settings.addEventListener('toggle', lookIfOpen);
  box.addEventListener('change', () => {
    const { checked } = box;
    say('wait');
    settle(() => (checked ? turnOn(plans.plan.pushKey ?? '') : turnOff()));
  });
}

async function look(): Promise<State> {
  const hindrance = whatHinders();
  if (hindrance !== null) return hindrance;
  if (Notification.permission === 'denied') return 'refused';
  const subscription = await ownSubscription();
  if (subscription === null) return 'off';
  // Reminders can also be ended by a link in any of them. Without a network, the last known state applies.
  return (await postSubscription('push/known', subscription)) === false ? 'off' : 'on';
}

function whatHinders(): Hindrance | null {
  if (!isSecureContext) return 'insecure';
  if ('PushManager' in window && 'Notification' in window && 'serviceWorker' in navigator) return null;
  // Only phones on which a page must be on the home screen before it can send reminders have this property (WebKit,
  // from memory).
  return 'standalone' in navigator && navigator.standalone === false ? 'home-screen' : 'impossible';
}

async function turnOn(key: string): Promise<State> {
  const permission = await Notification.requestPermission();
  if (permission !== 'granted') return permission === 'denied' ? 'refused' : 'unanswered';
  // A subscription that the service no longer knows may have ended permanently.
  await (await ownSubscription())?.unsubscribe();
  const subscription = await subscribe(await navigator.serviceWorker.ready, key);
  if (await postSubscription('push', subscription)) return 'on';
  await subscription.unsubscribe();
  return 'away';
}

/**
 * Turns reminders off, even without a network: a message to an ended subscription is returned to the service as
 * undeliverable.
 */
async function turnOff(): Promise<State> {
  const subscription = await ownSubscription();
  if (subscription === null) return 'off';
  await postSubscription('push/end', subscription);
  return (await subscription.unsubscribe()) ? 'off' : 'on';
}

async function ownSubscription(): Promise<PushSubscription | null> {
  const registration = await navigator.serviceWorker.getRegistration();
  return (await registration?.pushManager.getSubscription()) ?? null;
}
