import { beforeAll, describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { type Phone, soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

/** Whatever goes wrong with the sound is said aloud, to somebody who lies there with eyes closed. */
export function faults(open: () => Ward): void {
  describe('a fault of the sound', () => {
    let ward: Ward;
    beforeAll(() => {
      ward = open();
    });

    /** A phone whose browser keeps nothing, and so has only the network and its memory. */
    async function phoneOf(anna: Patient, script = ''): Promise<Phone> {
      const phone = await ward.phone(anna.link, { serviceWorkers: 'block' });
      await phone.page.addInitScript(`delete window.caches; ${script}`);
      await phone.open();
      await phone.page.getByRole('button', { name: 'Begin', exact: true, disabled: false }).waitFor();
      return phone;
    }
    async function touchUntilPlayer(phone: Phone): Promise<void> {
      await phone.press('Begin');
      await phone.press('Everything is ready');
      await phone.touch();
    }

    it('is said when there is no network from the start, and a touch tries again', async () => {
      const phone = await phoneOf(await ward.patient());
      await phone.page.context().setOffline(true);
      const timesSaid = () => phone.said.filter((key) => key === 'no-network').length;
      await phone.press('Begin');
      await phone.press('Everything is ready');
      await phone.sees('welcome');
      await soon(() => phone.said.at(-1)).toBe('no-network');
      const before = timesSaid();
      await phone.touch();
      await phone.sees('wait');
      await soon(timesSaid).toBe(before + 1);
      await look(phone.page, 'wait-failed');
      await phone.page.context().setOffline(false);
      await phone.touch();
      await phone.isIn('playing');
      expect(phone.complaints).toEqual([]);
    });

    it('lets nothing begin before it could be said', async () => {
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link, { serviceWorkers: 'block' });
      await phone.page.addInitScript('delete window.caches;');
      await phone.page.route('**/prompts/**', (route) => route.abort());
      await phone.open();
      const begin = phone.page.getByRole('button', { name: 'Begin', exact: true });
      await phone.view('today').getByText('The voice cannot be reached.').waitFor();
      expect(await begin.isDisabled()).toBe(true);
      await look(phone.page, 'voice-away');
      await phone.page.unroute('**/prompts/**');
      await phone.page.getByRole('button', { name: 'Begin', exact: true, disabled: false }).waitFor();
    });

    it('is said when what comes is no sound', async () => {
      const phone = await phoneOf(await ward.patient());
      await phone.page.route('**/session.mp3', (route) =>
        route.request().method() === 'HEAD'
          ? route.fulfill({ status: 200 })
          : route.fulfill({ contentType: 'audio/mpeg', body: 'x'.repeat(10_000) }),
      );
      await touchUntilPlayer(phone);
      await phone.isIn('trouble');
      await soon(() => phone.said.at(-1)).toBe('no-sound');
      await phone.page.unroute('**/session.mp3');
      await phone.touch();
      await phone.isIn('playing');
    });

    it('is said when the phone lets no session sound', async () => {
      const phone = await phoneOf(
        await ward.patient(),
        `const play = HTMLMediaElement.prototype.play;
        HTMLMediaElement.prototype.play = function () {
          if (this.dataset.sound !== 'session' || window.mayPlay) return play.call(this);
          return Promise.reject(new DOMException('not now', 'NotAllowedError'));
        };`,
      );
      await touchUntilPlayer(phone);
      await phone.isIn('trouble');
      await soon(() => phone.said.at(-1)).toBe('no-sound');
      await phone.page.evaluate('window.mayPlay = true');
      await phone.touch();
      await phone.isIn('playing');
    });

    it('is said when the sound stands still, before it could go on in the middle of a count', async () => {
      const phone = await phoneOf(await ward.patient());
      await touchUntilPlayer(phone);
      await phone.isIn('playing');
      const startedAtMs = Date.now();
      await phone.page.evaluate(`(() => {
        const sound = document.querySelector('[data-sound=session]');
        sound.playbackRate = 0;
      })()`);
      await phone.isIn('trouble');
      expect(Date.now() - startedAtMs).toBeLessThan(12_000);
      await soon(() => phone.said.at(-1)).toBe('no-sound');
    });

    it('is said when the clinic changed the program meanwhile', async () => {
      const anna = await ward.patient();
      const phone = await phoneOf(anna);
      await touchUntilPlayer(phone);
      await phone.isIn('playing');
      await phone.page.route('**/session.mp3', (route) => route.fulfill({ status: 410, json: {} }));
      await phone.page.evaluate(`(() => {
        const sound = document.querySelector('[data-sound=session]');
        sound.load();
      })()`);
      await phone.sees('today');
      await soon(() => phone.said.at(-1)).toBe('program-changed');
      await phone.page.getByText('Your clinic has changed your program.').waitFor();
    });

    it('is said when the link ends in the middle of a session, before the page goes', async () => {
      const anna = await ward.patient();
      const phone = await phoneOf(anna);
      await touchUntilPlayer(phone);
      await phone.isIn('playing');
      await ward.newLink(anna);
      await phone.page.evaluate(`window.dispatchEvent(new Event('online'))`);
      await soon(() => phone.said.at(-1)).toBe('page-ended');
      expect(await phone.page.evaluate('document.body.dataset.shows'), 'not before it was said').toBe(
        'player',
      );
      await phone.page.getByRole('heading', { name: 'This link does not work' }).waitFor();
    });

    it('is said by the phone’s own voice where the service has none', async () => {
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link, { serviceWorkers: 'block' });
      await phone.page.addInitScript(`delete window.caches;
        window.byDevice = [];
        speechSynthesis.speak = (said) => window.byDevice.push(said.text);`);
      await phone.page.route('**/prompts/**', (route) => route.fulfill({ status: 410, json: {} }));
      await phone.open();
      await phone.press('Begin');
      await soon(() => phone.page.evaluate('window.byDevice')).toEqual([
        'The sound has stopped. Let go, and rest. Touch anywhere to try again.',
      ]);
    });
  });

  describe('the stop page on a small phone', () => {
    const sizes = [
      { percent: 131.25, all: true },
      { percent: 150, all: true },
      { percent: 175, all: true },
      { percent: 200, all: false },
    ];

    it.each(sizes)('has everything on its first screen with text of $percent %', async ({ percent, all }) => {
      const ward = open();
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link, { viewport: { width: 360, height: 640 } });
      await phone.open();
      await phone.page.evaluate(`document.documentElement.style.fontSize = '${percent}%'`);
      await phone.press('Something is wrong');
      await phone.sees('stop');
      const stop = phone.view('stop');
      await phone.page.screenshot({ path: `output/pictures/listen-stop-360-${Math.round(percent)}.png` });
      const first = [
        stop.getByText('You told us: something is wrong.'),
        stop.getByText(/^In \d+ seconds, your clinic is told: something is wrong\.$/),
        stop.locator('a[href="tel:112"]'),
        stop.locator('a[href="tel:010055500"]'),
        stop.getByRole('button', { name: 'Tell my clinic now' }),
      ];
      // Nothing has begun here that could be ended.
      const taken = [stop.getByRole('button', { name: 'I pressed by mistake' })];
      for (const element of all ? [...first, ...taken] : first) {
        const box = await element.boundingBox();
        expect(box?.y, String(element)).toBeGreaterThanOrEqual(0);
        expect((box?.y ?? 0) + (box?.height ?? 0), String(element)).toBeLessThanOrEqual(640);
        expect((box?.x ?? 0) + (box?.width ?? 0), String(element)).toBeLessThanOrEqual(360);
      }
      // It counts down, and says what is told when something is ticked.
      const seconds = async () => Number(/\d+/.exec((await stop.locator('.told').textContent()) ?? '')?.[0]);
      const before = await seconds();
      expect(before).toBeLessThanOrEqual(60);
      await soon(seconds).toBeLessThan(before);
      await stop.getByRole('checkbox', { name: 'My heart races or stumbles' }).check();
      await stop.getByText('You ticked: My heart races or stumbles').waitFor();
    });

    it('says aloud that the clinic has the message only when it has', async () => {
      const ward = open();
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link);
      await phone.page.clock.install();
      await phone.open();
      await phone.page.route('**/report', (route) => route.abort());
      await phone.press('Something is wrong');
      await soon(() => phone.said).toContain('stop-now');
      await phone.page.evaluate(`document.querySelector('[data-sound=voice]').pause()`);
      await phone.page.clock.fastForward(61_000);
      await phone.page.clock.fastForward(5_000);
      await soon(() => phone.said).toContain('warning-unsent');
      await phone.view('stop').getByText('Not sent yet. Your clinic does not know yet.').waitFor();
      expect(ward.told(anna.id, 'warning')).toEqual([]);
      await phone.page.unroute('**/report');
      await phone.page.evaluate(`window.dispatchEvent(new Event('online'))`);
      await soon(() => phone.said).toContain('warning-sent');
      expect(ward.told(anna.id, 'warning')).toHaveLength(1);
    });
  });
}
