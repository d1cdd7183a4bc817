import type { Page } from 'playwright-core';
import { beforeAll, describe, expect, it } from 'vitest';
import { isWhole } from '../../../long.js';
import { calm, type Phone, soon } from '../phone.js';
import type { Ward } from '../ward.js';

/** How far apart the two touches of a trembling hand are; the shortest, a usual and the longest are always tried. */
const apartMs = isWhole('pages') ? [0, 120, 200, 280, 350] : [0, 200, 350];
/** What the page takes for trembling, and for how long it believes the time that an event was stamped with. */
const [mostTremblingMs, longestWaitMs] = [400, 1_000];
const mostTries = 6;

/**
 * Touches three times. The touches are stamped as far apart as the hand makes them, as a phone's screen does, so that a
 * busy machine makes no trembling hand a calm one.
 */
async function tremble(page: Page, [x, y]: readonly [number, number], ms: number): Promise<void> {
  const devTools = await page.context().newCDPSession(page);
  const firstAtMs = Date.now();
  for (const touch of [0, 1, 2]) {
    const atMs = firstAtMs + touch * ms;
    await new Promise((resolve) => setTimeout(resolve, atMs - Date.now()));
    const timestamp = atMs / 1_000;
    await devTools.send('Input.dispatchTouchEvent', {
      type: 'touchStart',
      touchPoints: [{ x, y }],
      timestamp,
    });
    await devTools.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [], timestamp });
  }
  await new Promise((resolve) => setTimeout(resolve, ms));
  await devTools.detach();
}

/** A hand that trembles: what it touches twice counts once. */
export function trembling(open: () => Ward): void {
  describe('a hand that trembles', () => {
    let ward: Ward;
    let phone: Phone;
    const viewsSeen = () => phone.page.evaluate('window.viewsSeen.splice(0)');

    beforeAll(async () => {
      ward = open();
      phone = await newPhone();
    });

    /** Somebody's phone, which notes each view that is seen. */
    async function newPhone(): Promise<Phone> {
      const opened = await ward.phone((await ward.patient()).link);
      await opened.page.addInitScript(`window.viewsSeen = [];
        new MutationObserver(() => window.viewsSeen.push(document.body.dataset.shows))
          .observe(document, { subtree: true, attributeFilter: ['data-shows'] });`);
      await opened.open();
      return opened;
    }

    /** Touches where a button is, and again as soon as a trembling hand does, and once more. */
    async function touchTwice(name: string, ms: number): Promise<void> {
      const button = phone.page.getByRole('button', { name, exact: true });
      await button.scrollIntoViewIfNeeded();
      const box = await button.boundingBox();
      const middle = [(box?.x ?? 0) + (box?.width ?? 0) / 2, (box?.y ?? 0) + (box?.height ?? 0) / 2] as const;
      await phone.steady();
      // A hand that has just trembled rests before it means another touch.
      await calm();
      await viewsSeen();
      await tremble(phone.page, middle, ms);
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

    /** Begins with three touches. @returns the longest time between two of them, as the page takes it */
    async function beginTrembling(link: string, ms: number): Promise<{ annas: Phone; slowestMs: number }> {
      const annas = await ward.phone(link);
      await annas.page.addInitScript(`window.touchedAtMs = [];
        document.addEventListener('touchstart', ({ timeStamp }) => {
          const nowMs = performance.now();
          window.touchedAtMs.push(nowMs - timeStamp <= ${longestWaitMs} ? timeStamp : nowMs);
        }, true);`);
      await annas.open();
      await annas.press('Begin');
      await annas.press('Everything is ready');
      await annas.page.evaluate('window.touchedAtMs.splice(0)');
      await tremble(annas.page, [200, 500], ms);
      const slowestMs = Number(
        await annas.page.evaluate(
          'Math.max(...window.touchedAtMs.slice(1).map((atMs, index) => atMs - window.touchedAtMs[index]))',
        ),
      );
      return { annas, slowestMs };
    }

    it.each(apartMs)('begins once with touches %d ms apart, and pauses nothing', async (ms) => {
      // Where the page stood still for a second it took the touches for those of a calm hand, and it is tried again.
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

    describe('that has just begun', () => {
      beforeAll(async () => {
        phone = await newPhone();
      });

      it('is not skipped by a key that is held down, nor by a screen reader’s click', async () => {
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
    });

    it('stops at a long press that begins as soon as a view is there', async () => {
      phone = await newPhone();
      await phone.press('Begin');
      await phone.page.getByRole('button', { name: 'Everything is ready' }).click();
      await phone.pressLong('stop');
    });
  });
}
