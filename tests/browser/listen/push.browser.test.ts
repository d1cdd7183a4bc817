import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type BrowserContext, chromium, type Page, type Worker } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addDays, isoDayIn, wallClockInstant } from '../../../src/schedule/wallClock.js';
import { chromiumArguments, chromiumPath, hasChromium, whyNoChromium } from '../../support/browser.js';
import { owner, person } from '../../support/clinic.js';
import { ListeningClinic } from '../../support/listener.js';
import { agree, contactsIn, unsubscribePath } from '../../support/reminded.js';
import { look } from './looks.js';
import { Phone, soon } from './phone.js';
import { Registrar } from './registrar.js';

const screen = { viewport: { width: 390, height: 844 }, reducedMotion: 'reduce' } as const;
/** A name that is this machine, and to a browser another one: plain http is not secure there. */
const otherHost = 'clinic.test';

it('has a browser to run in', (context) => {
  if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
  expect(hasChromium, whyNoChromium).toBe(true);
});

describe.skipIf(!hasChromium)('reminders on a phone', { timeout: 120_000 }, () => {
  const registrar = new Registrar();
  let at: ListeningClinic;
  let profile: string;
  let context: BrowserContext;
  let phone: Phone;

  beforeAll(async () => {
    [at] = await Promise.all([ListeningClinic.open(), registrar.open()]);
    // Nothing is due before dawn: the service itself sends nothing.
    const tomorrow = addDays(isoDayIn(Date.now(), person.zone), 1);
    at.clinic.clock.aheadMs = wallClockInstant(tomorrow, '04:00', person.zone) - Date.now();
    await at.ada.post('/sign-in', { email: owner.email, password: owner.password });
    await at.ada.submit('/colleagues/contact', { phone: '0100 555 00', emergencyNumber: '112' });
    profile = await mkdtemp(join(tmpdir(), 'stillcount-profile-'));
    // Chromium gives no subscriptions to a context that is forgotten afterwards.
    context = await chromium.launchPersistentContext(profile, {
      ...screen,
      executablePath: chromiumPath,
      args: [
        ...chromiumArguments,
        ...registrar.arguments,
        `--host-resolver-rules=MAP ${otherHost} 127.0.0.1`,
      ],
      permissions: ['notifications'],
    });
    phone = new Phone(await context.newPage(), at.clinic.service.address + at.rosaLink);
  }, 120_000);
  afterAll(async () => {
    await context.close();
    await registrar.close();
    await at.clinic.remove();
    await rm(profile, { recursive: true, force: true });
  });

  const phones = () => contactsIn(at.clinic).filter(({ channel }) => channel === 'push');
  const standing = () => phones().filter(({ endedWhy }) => endedWhy === null);
  const endpoints = () => standing().map(({ address }) => JSON.parse(address).endpoint);
  const box = ({ page }: Phone) => page.getByRole('checkbox', { name: 'Remind me on this phone' });
  const told = ({ page }: Phone) => page.locator('[data-text="reminding"]').textContent();

  /** The page with its settings open. */
  async function inSettings(which: Phone): Promise<void> {
    await which.open();
    await which.page.getByText('Sound, screen and more').click();
  }
  const subscription = (page: Page) =>
    page.evaluate(`navigator.serviceWorker.ready
      .then(({ pushManager }) => pushManager.getSubscription())
      .then((subscription) => subscription && subscription.endpoint)`);

  it('are not offered before they were agreed on', async () => {
    await inSettings(phone);
    await phone.page.getByRole('heading', { name: 'Without internet' }).waitFor();
    expect(await phone.page.getByRole('heading', { name: 'Reminders' }).count()).toBe(0);
  });

  it('are turned on by a key, and are still on when the page is opened again', async () => {
    await agree(at.ada, at.rosaPath, 'reminders');
    await inSettings(phone);
    await soon(() => told(phone)).toBe('This phone will not remind you.');
    await box(phone).focus();
    await phone.page.keyboard.press('Space');
    await soon(() => told(phone)).toBe('This phone will tell you when a session is due.');
    expect(await box(phone).isChecked()).toBe(true);
    expect(await phone.page.evaluate('document.activeElement.name'), 'where the key was pressed').toBe(
      'reminding',
    );
    expect(endpoints()).toEqual([await subscription(phone.page)]);
    await look(phone.page, 'reminding-on');
    await inSettings(phone);
    await soon(() => told(phone)).toBe('This phone will tell you when a session is due.');
    expect(await box(phone).isChecked()).toBe(true);
    expect(phone.complaints).toEqual([]);
  });

  function workerOf({ address }: Phone): Worker {
    const worker = context.serviceWorkers().find((each) => each.url() === `${address}worker.js`);
    if (worker === undefined) throw new Error('the page has no worker');
    return worker;
  }

  /**
   * Hands a message to the page's worker, as a push service would, and waits until it is shown. Once, on a busy machine,
   * one was never seen; our reading is that Chromium, asked what is shown while it still puts something up, forgets it.
   */
  async function push(data: string): Promise<void> {
    const worker = workerOf(phone);
    await worker.evaluate(`{
      const { prototype } = ServiceWorkerRegistration;
      const show = prototype.showNotification;
      if (self.shownCount === undefined) {
        self.shownCount = 0;
        prototype.showNotification = async function (...given) {
          await show.apply(this, given);
          self.shownCount += 1;
        };
      }
    }`);
    const shownCount = () => worker.evaluate<number>('self.shownCount');
    const before = await shownCount();
    const devTools = await context.newCDPSession(phone.page);
    const registrationId = new Promise<string>((resolve) => {
      devTools.on('ServiceWorker.workerRegistrationUpdated', ({ registrations }) => {
        for (const each of registrations) if (each.scopeURL === phone.address) resolve(each.registrationId);
      });
    });
    await devTools.send('ServiceWorker.enable');
    const { origin } = new URL(phone.address);
    const message = { origin, registrationId: await registrationId, data };
    await devTools.send('ServiceWorker.deliverPushMessage', message);
    await soon(shownCount).toBe(before + 1);
    await devTools.detach();
  }
  const shown = () =>
    phone.page.evaluate(`navigator.serviceWorker.ready
      .then((registration) => registration.getNotifications())
      .then((all) => all.map(({ title, body, tag, requireInteraction }) =>
        ({ title, body, tag, requireInteraction })))`);
  const message = {
    title: 'It is time for your session',
    body: 'It is time for your 9:00 session.',
    tag: 'due-1',
    address: null,
    isUrgent: false,
  };

  it('are shown until they are seen, each once, and in plain words when they cannot be read', async () => {
    const { title, body, tag } = message;
    await push(JSON.stringify(message));
    const first = { title, body, tag, requireInteraction: true };
    await soon(shown).toEqual([first]);
    const again = { ...message, body: 'This reminder is late.' };
    await push(JSON.stringify(again));
    await soon(shown).toEqual([{ ...first, body: again.body }]);
    await push('{"title":');
    const plain = {
      title: 'About your sessions',
      body: 'Please open your sessions page.',
      tag: 'plain',
      requireInteraction: true,
    };
    await soon(async () => new Set((await shown()) as object[])).toEqual(
      new Set([plain, { ...first, body: again.body }]),
    );
  });

  /**
   * Presses the message of a tag, and says where that leads. Without a screen Chromium lets no page come to the front
   * and none be opened by a worker, so what the worker asks of it is written down instead.
   */
  async function pressed(worker: Worker, tag: string): Promise<unknown> {
    return worker.evaluate(`new Promise((resolve, reject) => {
      WindowClient.prototype.focus = async function () { resolve(['focus', this.url]); };
      Clients.prototype.openWindow = async (address) => resolve(['open', address]);
      self.registration.getNotifications({ tag: ${JSON.stringify(tag)} }).then(([notification]) =>
        self.dispatchEvent(new NotificationEvent('notificationclick', { notification }))).catch(reject);
    })`);
  }

  it('lead to the page that is open, else open it, and never anything outside of it', async () => {
    const worker = workerOf(phone);
    await context.newPage();
    expect(await pressed(worker, message.tag)).toEqual(['focus', phone.address]);
    await soon(shown, 'it is closed').not.toContainEqual(expect.objectContaining({ tag: message.tag }));
    const inside = `${phone.address}#beside-the-bed`;
    const outside = [`${new URL('/l/another/', phone.address)}`, 'https://example.org/', 'nonsense://'];
    for (const [tag, address] of [inside, ...outside].entries())
      await push(JSON.stringify({ ...message, tag: String(tag), address }));
    await soon(async () => Object(await shown()).length).toBe(5);
    await phone.page.close();
    expect(await pressed(worker, '0')).toEqual(['open', inside]);
    for (const tag of ['1', '2', '3', 'plain'])
      expect(await pressed(worker, tag), tag).toEqual(['open', phone.address]);
    phone = new Phone(context.pages()[0] ?? (await context.newPage()), phone.address);
  });

  it('go on through a new subscription when the browser gives up the old one', async () => {
    await phone.open();
    const [before] = endpoints();
    const worker = workerOf(phone);
    await worker.evaluate(`self.registration.pushManager.getSubscription().then(async (oldSubscription) => {
      await oldSubscription.unsubscribe();
      self.dispatchEvent(new PushSubscriptionChangeEvent('pushsubscriptionchange', { oldSubscription }));
    })`);
    await soon(() => endpoints().length === 1 && endpoints()[0] !== before).toBe(true);
    expect(endpoints()).toEqual([await subscription(phone.page)]);
  });

  it('are off here when they were ended by the link in a message, and can be turned on again and off', async () => {
    const ending = await context.newPage();
    const address = at.clinic.service.address + (await unsubscribePath(at.clinic, standing()[0]?.id ?? ''));
    await ending.goto(address);
    await look(ending, 'unsubscribe');
    await ending.keyboard.press('Tab');
    await ending.keyboard.press('Enter');
    await ending.getByRole('heading', { name: 'These messages have stopped' }).waitFor();
    await look(ending, 'unsubscribed');
    expect(standing()).toEqual([]);
    await ending.close();
    await inSettings(phone);
    await soon(() => told(phone)).toBe('This phone will not remind you.');
    await box(phone).check();
    await soon(() => told(phone)).toBe('This phone will tell you when a session is due.');
    expect(endpoints()).toEqual([await subscription(phone.page)]);
    await box(phone).uncheck();
    await soon(() => told(phone)).toBe('This phone will not remind you.');
    expect(standing()).toEqual([]);
    expect(phones().at(-1)?.endedWhy).toBe('removed');
    expect(await subscription(phone.page)).toBeNull();
  });

  it('say that they are not on when the service or the push service cannot be reached', async () => {
    await phone.page.route('**/push', (route) => route.abort());
    await box(phone).click();
    await soon(() => told(phone)).toContain('cannot be reached. Check that your phone is online.');
    expect([await box(phone).isChecked(), await subscription(phone.page)]).toEqual([false, null]);
    await phone.page.unroute('**/push');
    const forgetful = await context.browser()?.newContext({ ...screen, permissions: ['notifications'] });
    if (forgetful === undefined) throw new Error('no browser');
    const other = new Phone(await forgetful.newPage(), phone.address);
    await inSettings(other);
    await box(other).click();
    await soon(() => told(other)).toContain('cannot be reached. Check that your phone is online.');
    await forgetful.close();
    expect(standing()).toEqual([]);
  });

  it('say what to do where the browser was told never to show any, and where it cannot', async () => {
    const devTools = await context.newCDPSession(phone.page);
    const { origin } = new URL(phone.address);
    const permission = { name: 'notifications' };
    await devTools.send('Browser.setPermission', { permission, setting: 'denied', origin });
    await inSettings(phone);
    await soon(() => told(phone)).toContain('allow notifications for this page');
    await look(phone.page, 'reminding-refused');
    const plain = new Phone(await context.newPage(), phone.address.replace('127.0.0.1', otherHost));
    await inSettings(plain);
    await soon(() => told(plain)).toContain('https');
    expect(await box(plain).isVisible()).toBe(false);
    await plain.page.close();
    const old = new Phone(await context.newPage(), phone.address);
    await old.page.addInitScript('delete window.PushManager;');
    await inSettings(old);
    await soon(() => told(old)).toContain('This browser cannot show reminders.');
    await old.page.addInitScript('navigator.standalone = false;');
    await inSettings(old);
    await soon(() => told(old)).toContain('Put this page on your home screen first');
    expect(await box(old).isVisible()).toBe(false);
  });
});
