import { beforeAll, describe, expect, it } from 'vitest';
import { calm, type Phone, soon } from '../phone.js';
import type { Ward } from '../ward.js';

/** How far apart the two touches of a trembling hand are. */
const apartMs = [0, 120, 200, 280, 350];
/** A touch that comes later than this may be meant; a little less than what the page takes for trembling. */
const mostTremblingMs = 400;
const mostTries = 6;

/** A hand that trembles: what it touches twice counts once. */
export function trembling(open: () => Ward): void {
  describe('a hand that trembles', () => {
    let ward: Ward;
    let phone: Phone;
    const viewsSeen = () => phone.page.evaluate('window.viewsSeen.splice(0)');

    beforeAll(async () => {
      ward = open();
      phone = await ward.phone((await ward.patient()).link);
      await phone.page.addInitScript(`window.viewsSeen = [];
        new MutationObserver(() => window.viewsSeen.push(document.body.dataset.shows))
          .observe(document, { subtree: true, attributeFilter: ['data-shows'] });`);
      await phone.open();
    });

    /** Touches where a button is, and again as soon as a trembling hand does, and once more. */
    async function touchTwice(name: string, ms: number): Promise<void> {
      const button = phone.page.getByRole('button', { name, exact: true });
      await button.scrollIntoViewIfNeeded();
      const box = await button.boundingBox();
      const [x, y] = [(box?.x ?? 0) + (box?.width ?? 0) / 2, (box?.y ?? 0) + (box?.height ?? 0) / 2];
      await phone.steady();
      // A hand that has just trembled rests before it means another touch.
      await calm();
      await viewsSeen();
      for (const _touch of ['meant', 'trembled', 'trembled']) {
        await phone.page.touchscreen.tap(x, y);
        await phone.page.evaluate(`new Promise((resolve) => setTimeout(resolve, ${ms}))`);
      }
    }

    it.each(apartMs)(
      'skips no view with touches %d ms apart: neither the check nor the welcome',
      async (ms) => {
        await touchTwice('Begin', ms);
        expect(await viewsSeen()).toEqual(['check']);
        await soon(() => phone.said.at(-1)).toBe('first-check');
        await touchTwice('Everything is ready', ms);
        expect(await viewsSeen()).toEqual(['welcome']);
        // The loudness is heard.
        await soon(() => phone.said.at(-1)).toBe('welcome');
        await phone.page.goBack();
        await phone.sees('today');
      },
    );

    /** Begins with three touches. @returns the longest time between two of them, as the page noted it */
    async function beginTrembling(link: string, ms: number): Promise<{ annas: Phone; slowestMs: number }> {
      const annas = await ward.phone(link);
      await annas.page.addInitScript(`window.touchedAtMs = [];
        document.addEventListener('touchstart', () => window.touchedAtMs.push(performance.now()), true);`);
      await annas.open();
      await annas.press('Begin');
      await annas.press('Everything is ready');
      await annas.page.evaluate('window.touchedAtMs.splice(0)');
      for (const _touch of ['meant', 'trembled', 'trembled']) {
        await annas.page.touchscreen.tap(200, 500);
        await annas.page.evaluate(`new Promise((resolve) => setTimeout(resolve, ${ms}))`);
      }
      const slowestMs = Number(
        await annas.page.evaluate(
          'Math.max(...window.touchedAtMs.slice(1).map((atMs, index) => atMs - window.touchedAtMs[index]))',
        ),
      );
      return { annas, slowestMs };
    }

    it.each(apartMs)('begins once with touches %d ms apart, and pauses nothing', async (ms) => {
      // Where the machine was slower than the hand, the touches were those of a calm one, and it is tried again.
      for (let tries = 1; ; tries += 1) {
        const anna = await ward.patient();
        const { annas, slowestMs } = await beginTrembling(anna.link, ms);
        if (slowestMs < mostTremblingMs || tries === mostTries) {
          await annas.isIn('playing');
          await soon(() => ward.told(anna.id, 'step').map(({ step }) => step)).toEqual(['started']);
          await annas.page.close();
          return;
        }
        await annas.page.close();
      }
    });

    it('is not skipped by a key that is held down, nor by a screen reader’s click', async () => {
      const anna = await ward.patient();
      phone = await ward.phone(anna.link);
      await phone.page.addInitScript(`window.viewsSeen = [];
        new MutationObserver(() => window.viewsSeen.push(document.body.dataset.shows))
          .observe(document, { subtree: true, attributeFilter: ['data-shows'] });`);
      await phone.open();
      await phone.press('Begin');
      await phone.page.evaluate(`(() => {
        document.querySelector('[data-view=check] [data-do=ready]').click();
        document.querySelector('[data-view=welcome] [data-one-button]').click();
      })()`);
      await phone.sees('welcome');
      expect(await viewsSeen()).not.toContain('player');
    });

    it('can always stop and call, however soon', async () => {
      await phone.page.evaluate(`(() => {
        window.called = [];
        document.addEventListener('click', (event) => {
          const link = event.target.closest('a[href^="tel:"]');
          if (link === null) return;
          window.called.push([link.getAttribute('href'), event.defaultPrevented]);
          event.preventDefault();
        });
        document.querySelector('[data-view=welcome] [data-do=stop]').click();
        document.querySelector('[data-view=stop] a[href^="tel:"]').click();
      })()`);
      await phone.sees('stop');
      expect(await phone.page.evaluate('window.called')).toEqual([['tel:112', false]]);
    });

    it('stops at a long press that begins as soon as a view is there', async () => {
      const anna = await ward.patient();
      phone = await ward.phone(anna.link);
      await phone.open();
      await phone.press('Begin');
      await phone.page.getByRole('button', { name: 'Everything is ready' }).click();
      await phone.pressLong('stop');
    });
  });
}
