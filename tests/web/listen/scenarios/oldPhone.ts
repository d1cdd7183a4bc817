import type { Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { asOldPhone } from '../newer.js';
import { soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

/** A phone of 2021, and a page whose script does not start, for whatever reason. */
export function oldPhone(open: () => Ward): void {
  describe('a phone of 2021', () => {
    let ward: Ward;
    beforeAll(() => {
      ward = open();
    });

    it('reports a whole session, its answers and a warning sign', async () => {
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link);
      await phone.page.addInitScript(asOldPhone);
      await phone.open();
      const left = await phone.page.evaluate(
        `[AbortSignal.timeout, Array.prototype.at, window.structuredClone, Object.hasOwn, crypto.randomUUID,
          navigator.locks, [].findLast, URL.canParse].filter((each) => each !== undefined).length`,
      );
      expect(left, 'they are really gone').toBe(0);
      await phone.begin();
      await phone.touch();
      await phone.isIn('paused');
      await phone.touch();
      await phone.isIn('playing');
      const { durationMs } = await phone.played();
      await phone.jumpTo(durationMs - 1_000);
      await phone.press('I am sitting up');
      for (const _skipped of ['done', 'pain before', 'pain after', 'effort']) await phone.press('Skip');
      await phone.view('check-in').getByRole('checkbox', { name: 'My heart races or stumbles' }).check();
      await phone.press('Next');
      await phone.sees('advice');
      await soon(() => ward.told(anna.id, 'warning').map(({ signs }) => signs)).toEqual(['["heart-racing"]']);
      await phone.view('advice').getByText('Your clinic has a message.').waitFor();
      await phone.press('I have read this');
      await phone.page.getByRole('textbox').fill('From an old phone');
      await phone.press('Next');
      await phone.sees('thanks');
      await soon(() =>
        ward.told(anna.id, 'check-in').map(({ answers }) => JSON.parse(String(answers)).note),
      ).toEqual(['From an old phone']);
      const steps = ward.told(anna.id, 'step').map(({ step }) => step);
      expect(steps.filter((step) => step !== 'reached')).toEqual([
        'started',
        'paused',
        'resumed',
        'finished',
      ]);
      expect(phone.complaints).toEqual([]);
    });

    it('tells a warning from the first page, and says “has a message” only when the service has it', async () => {
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link);
      await phone.page.addInitScript(asOldPhone);
      await phone.open();
      await phone.page.route('**/report', (route) => route.abort());
      await phone.press('Something is wrong');
      await phone.press('Tell my clinic now');
      const advice = phone.view('advice');
      await advice.getByText('Your clinic does not know yet.').waitFor();
      expect(await advice.getByText('Your clinic has a message.').count()).toBe(0);
      expect(ward.told(anna.id, 'warning')).toEqual([]);
      await phone.page.unroute('**/report');
      await phone.page.evaluate(`window.dispatchEvent(new Event('online'))`);
      await advice.getByText('Your clinic has a message.').waitFor();
      expect(ward.told(anna.id, 'warning')).toHaveLength(1);
    });
  });

  describe('a page whose script does not start', () => {
    let ward: Ward;
    let anna: Patient;
    beforeAll(async () => {
      ward = open();
      anna = await ward.patient();
    });

    const script = (body: string | null) => async (page: Page) =>
      page.route('**/assets/*.js', (route) =>
        body === null ? route.abort() : route.fulfill({ contentType: 'text/javascript', body }),
      );
    const first = (text: string) => (page: Page) => page.addInitScript(text);
    const faults: [string, (page: Page) => Promise<unknown>][] = [
      ['that does not load', script(null)],
      ['that does not parse', script('const a = ;')],
      ['that throws at once', script('throw new Error("at once")')],
      ['in a browser without event targets of one’s own', first('delete window.EventTarget;')],
      ['where storage is broken', first('Storage.prototype.getItem = () => { throw new Error("broken"); };')],
      ['in a browser without Intl', first('delete window.Intl;')],
      [
        'in a browser whose listeners never end',
        first(`const add = EventTarget.prototype.addEventListener;
          EventTarget.prototype.addEventListener = function (type, act, how) {
            return add.call(this, type, act, typeof how === 'object' ? how?.capture : how);
          };`),
      ],
    ];

    it.each(faults)('%s leaves the numbers, the sound and the form', async (_fault, make) => {
      const phone = await ward.phone(anna.link, { serviceWorkers: 'block' });
      await make(phone.page);
      await phone.page.goto(phone.address);
      const plain = phone.page.locator('[data-plain]');
      await phone.page.waitForLoadState('load');
      expect(await plain.isVisible()).toBe(true);
      for (const number of ['tel:112', 'tel:010055500']) {
        expect(await plain.locator(`a[href="${number}"]`).isVisible()).toBe(true);
        const box = await plain.locator(`a[href="${number}"]`).boundingBox();
        expect((box?.y ?? 0) + (box?.height ?? 0), 'on the first screen').toBeLessThan(844);
      }
      expect(await plain.locator('audio').isVisible()).toBe(true);
      expect(await phone.page.locator('[data-view]:visible').count()).toBe(0);
      await phone.page.close();
    });

    it('reads a language that it cannot read as none, and opens', async () => {
      const phone = await ward.phone(anna.link);
      await phone.page.addInitScript(
        `Object.defineProperty(navigator, 'language', { get: () => 'en-US@posix' });`,
      );
      await phone.open();
      expect(await phone.view('today').textContent()).toContain('Planned for 9:00');
      expect(await phone.page.locator('[data-plain]').isVisible()).toBe(false);
      expect(phone.complaints).toEqual([]);
    });

    it('tells a warning by its plain form, and looks as it should', async () => {
      const phone = await ward.phone(anna.link, { javaScriptEnabled: false });
      await phone.page.goto(phone.address);
      await phone.page.getByText('Something is wrong', { exact: true }).click();
      await phone.page.getByRole('checkbox', { name: 'I cannot get my breath' }).check();
      await phone.page.getByRole('button', { name: 'Tell my clinic now' }).click();
      await phone.page.getByRole('heading', { name: 'Your clinic has your message' }).waitFor();
      await soon(() => ward.told(anna.id, 'warning').map(({ signs }) => signs)).toEqual(['["no-breath"]']);
      const shown = await ward.phone((await ward.patient()).link, { serviceWorkers: 'block' });
      await script(null)(shown.page);
      await shown.page.goto(shown.address);
      await look(shown.page, 'plain');
      for (const summary of ['Something is wrong', 'Tell my clinic how it was'])
        await shown.page.getByText(summary, { exact: true }).first().click();
      await look(shown.page, 'plain-open');
    });

    it('takes nothing away from somebody who listens there when its script comes late', async () => {
      const phone = await ward.phone((await ward.patient()).link, { serviceWorkers: 'block' });
      let letGo: () => void = () => undefined;
      const held = new Promise<void>((resolve) => {
        letGo = resolve;
      });
      await phone.page.route('**/assets/*.js', async (route) => {
        await held;
        await route.continue();
      });
      await phone.page.goto(phone.address, { waitUntil: 'commit' });
      const plain = phone.page.locator('[data-plain]');
      await plain.getByText('Something is wrong', { exact: true }).click();
      letGo();
      await phone.page.getByRole('button', { name: 'Show the full page' }).waitFor();
      expect(await plain.getByRole('button', { name: 'Tell my clinic now' }).isVisible()).toBe(true);
      await phone.page.getByRole('button', { name: 'Show the full page' }).click();
      await phone.sees('today');
      expect(await plain.isVisible()).toBe(false);
    });
  });
}
