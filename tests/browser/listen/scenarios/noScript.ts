import type { Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

/** A page whose script does not start, for whatever reason. */
export function noScript(open: () => Ward): void {
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
      await shown.page.getByRole('link', { name: 'See how it is done' }).click();
      await shown.page.getByText('Ankle pumps', { exact: true }).click();
      await shown.page.getByText('Feet pointed. Both feet move').waitFor();
      await look(shown.page, 'figures-plain');
      await shown.page.getByRole('link', { name: 'Back to my sessions' }).click();
      await shown.page.getByRole('heading', { name: 'Your sessions' }).first().waitFor();
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
