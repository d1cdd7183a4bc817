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
      await phone.hearOut();
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
}
