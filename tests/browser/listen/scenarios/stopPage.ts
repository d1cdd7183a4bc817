import { describe, expect, it } from 'vitest';
import { isWhole } from '../../../long.js';
import { takePicture } from '../../../support/picture.js';
import { soon } from '../phone.js';
import type { Ward } from '../ward.js';

/** The page that says that something is wrong: what is seen of it on a small phone, and what it says aloud. */
export function stopPage(open: () => Ward): void {
  describe('the stop page on a small phone', () => {
    const largest = [
      { percent: 175, all: true },
      { percent: 200, all: false },
    ];
    // What fits in the largest text fits in smaller.
    const sizes = isWhole('pages')
      ? [{ percent: 131.25, all: true }, { percent: 150, all: true }, ...largest]
      : largest;

    it.each(sizes)('has everything on its first screen with text of $percent %', async ({ percent, all }) => {
      const ward = open();
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link, { viewport: { width: 360, height: 640 } });
      await phone.open();
      await phone.page.evaluate(`document.documentElement.style.fontSize = '${percent}%'`);
      await phone.press('Something is wrong');
      await phone.sees('stop');
      const stop = phone.view('stop');
      await takePicture(phone.page, `listen-stop-360-${Math.round(percent)}`, { fullPage: false });
      const first = [
        stop.getByText('You told us: something is wrong.'),
        stop.getByText(/^In \d+ seconds, your clinic will be told that something is wrong\.$/),
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
      await stop.getByRole('checkbox', { name: 'My heart is racing or skipping beats' }).check();
      await stop.getByText('You checked: My heart is racing or skipping beats').waitFor();
    });

    it('says aloud that the clinic has the message only when it has', async () => {
      const ward = open();
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link);
      await phone.page.clock.install();
      await phone.open();
      await phone.page.route('**/report', (route) => route.abort());
      await phone.press('Something is wrong');
      await soon(() => phone.said).toContain('stop-begin');
      await phone.hearOut();
      await soon(() => phone.said).toContain('stop-now');
      await phone.page.evaluate(`document.querySelector('[data-sound=voice]').pause()`);
      await phone.page.clock.fastForward(61_000);
      await phone.page.clock.fastForward(5_000);
      await soon(() => phone.said).toContain('warning-unsent');
      await phone.view('stop').getByText('Not sent yet. Your clinic does not know yet.').waitFor();
      expect(ward.told(anna.id, 'warning')).toEqual([]);
      await phone.hearOut();
      await phone.page.unroute('**/report');
      await phone.page.evaluate(`window.dispatchEvent(new Event('online'))`);
      await soon(() => phone.said).toContain('warning-sent');
      expect(ward.told(anna.id, 'warning')).toHaveLength(1);
    });
  });
}
