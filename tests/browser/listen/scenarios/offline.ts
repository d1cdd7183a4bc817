import { afterEach, beforeAll, describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { type Phone, soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

const dayMs = 24 * 3_600_000;

/** Without a network, with half of one, and with a phone that has no room. */
export function offline(open: () => Ward): void {
  describe('without a network', () => {
    let ward: Ward;
    let rosa: Patient;
    let phone: Phone;
    const kept = (which: Phone, state: string) =>
      which.page.waitForSelector(`[data-kept="${state}"]:not([hidden])`, { state: 'attached' });

    beforeAll(async () => {
      ward = open();
      rosa = await ward.patient();
      phone = await ward.phone(rosa.link);
    });

    afterEach(() => ward.wire.mend());

    async function cut(which: Phone): Promise<void> {
      await which.page.context().setOffline(true);
      ward.wire.cut();
    }
    async function mend(which: Phone): Promise<void> {
      ward.wire.mend();
      await which.page.context().setOffline(false);
    }

    it('opens, plays and asks, and tells all of it once and in order when the network is back', async () => {
      await phone.open();
      await kept(phone, 'kept');
      await phone.page.close();
      await cut(phone);
      phone = await phone.again();
      await phone.open();
      await phone.begin();
      await phone.page.getByRole('heading', { name: 'Next: Ankle pumps' }).waitFor();
      const { durationMs } = await phone.played();
      await phone.touch();
      await phone.isIn('paused');
      await phone.touch();
      await phone.isIn('playing');
      await phone.jumpTo(durationMs - 1_000);
      await phone.press('I am sitting up');
      for (const _skipped of ['done', 'pain before', 'pain after', 'effort']) await phone.press('Skip');
      await phone.page.getByRole('checkbox', { name: 'None of these' }).check();
      await phone.press('Next');
      await phone.page.getByRole('textbox').fill('Without a network');
      await phone.press('Next');
      await phone.press('To the first page');
      await phone.page.getByText('Not everything has been sent to your clinic yet').waitFor();
      expect(await phone.view('today').textContent()).toContain('Short program: done');
      await look(phone.page, 'unsent');
      // Another page of the same browser finds the same reports; whoever sends them, each arrives once.
      const other = await phone.again();
      await other.open();
      expect(ward.told(rosa.id, 'step')).toEqual([]);
      await mend(phone);
      await soon(() => ward.told(rosa.id, 'check-in').length).toBe(1);
      await phone.page
        .getByText('Not everything has been sent to your clinic yet')
        .waitFor({ state: 'hidden' });
      const steps = ward.told(rosa.id, 'step');
      expect(steps.map(({ step }) => step).filter((step) => step !== 'reached')).toEqual([
        'started',
        'paused',
        'resumed',
        'finished',
      ]);
      const happened = [...steps, ...ward.told(rosa.id, 'check-in')].map(({ id }) => id);
      for (const { sentIds } of [phone, other]) {
        const inOrder = [...new Set(sentIds)].filter((id) => happened.includes(id));
        expect(inOrder).toEqual(happened.filter((id) => inOrder.includes(id)));
      }
      // The phone's clock is wrong by hours; the service's is not.
      const serviceNowMs = Date.now() + ward.clinic.clock.aheadMs;
      expect(Math.abs(serviceNowMs - Number(steps.at(-1)?.atMs))).toBeLessThan(60_000);
      expect(phone.complaints.concat(other.complaints)).toEqual([]);
      await other.page.close();
    });

    it('says that it has been away for too long, and plays nothing then', async () => {
      const [anna, page] = await fresh();
      await cut(page);
      await page.page.clock.install({ time: Date.now() + 3 * dayMs });
      await page.page.reload();
      await page.page.getByText('This phone has not been able to reach your clinic for too long').waitFor();
      expect(await page.page.getByRole('button', { name: 'Begin', exact: true }).count()).toBe(0);
      await look(page.page, 'outdated');
      await mend(page);
      await page.page.getByRole('button', { name: 'Begin', exact: true }).waitFor();
      expect(ward.told(anna.id, 'step')).toEqual([]);
    });

    it('says that the sound was lost half-way, and goes on from a resume point at a touch', async () => {
      const anna = await ward.patient();
      // A browser that keeps nothing has only the network.
      const page = await ward.phone(anna.link, { serviceWorkers: 'block' });
      await page.page.addInitScript('delete window.caches');
      await page.open();
      // What has to be in memory comes first.
      await page.page.waitForLoadState('networkidle');
      // About three times as fast as the sound is heard, which leaves much of it to come.
      ward.wire.bytesPerSecond = 15_000;
      await page.begin();
      const { durationMs, resumePointsMs } = await page.played();
      ward.wire.cut();
      await page.page.evaluate(
        `document.querySelector('[data-sound=session]').currentTime = ${durationMs / 1000 - 20}`,
      );
      await page.isIn('trouble');
      await soon(() => page.said.at(-1)).toBe('no-network');
      await look(page.page, 'trouble');
      ward.wire.mend();
      await page.touch();
      await page.isIn('playing');
      await soon(() => ward.told(anna.id, 'step').at(-1)?.step).toBe('resumed');
      expect(resumePointsMs).toContain(ward.told(anna.id, 'step').at(-1)?.positionMs);
    });

    it('says that a phone has no room, plays from the network, and loses no answer', async () => {
      const anna = await ward.patient();
      const page = await ward.phone(anna.link);
      const session = await page.page.context().newCDPSession(page.page);
      await session.send('Storage.overrideQuotaForOrigin', { origin: ward.wire.address, quotaSize: 300_000 });
      await page.page.goto(new URL('/l', ward.wire.address).href);
      // Filled to the last character, as by other pages of the same house.
      await page.page.evaluate(`for (let size = 1e6; size >= 1; size = Math.floor(size / 2))
        try { for (;;) localStorage.setItem('other ' + localStorage.length, 'x'.repeat(size)); } catch {}`);
      await page.open();
      await page.page.getByText('This phone is full').waitFor();
      await kept(page, 'full');
      await page.begin();
      await page.page.keyboard.press('s');
      await page.press('Nothing is wrong. I just want to end here');
      await page.press('I am sitting up');
      for (const _skipped of ['done', 'pain before', 'pain after', 'effort', 'signs', 'note'])
        await page.press('Skip');
      await page.sees('thanks');
      await soon(() => ward.told(anna.id, 'check-in').length).toBe(1);
      expect(ward.told(anna.id, 'step').map(({ step }) => step)).toEqual(['started', 'paused', 'stopped']);
    });

    it('forgets a link that was taken, but not what its new one has to tell', async () => {
      const [anna, page] = await fresh();
      await kept(page, 'kept');
      await cut(page);
      await page.press('Not today');
      await page.page.getByRole('radio', { name: 'I have no time' }).check();
      await page.press('Tell my clinic');
      const link = await ward.newLink(anna);
      await mend(page);
      await page.page.getByRole('heading', { name: 'This link does not work' }).waitFor();
      await look(page.page, 'dead');
      expect(await page.page.evaluate('caches.keys()')).toEqual([]);
      expect(
        await page.page.evaluate('navigator.serviceWorker.getRegistrations().then((all) => all.length)'),
      ).toBe(0);
      expect(ward.told(anna.id, 'not-today')).toEqual([]);
      await page.page.goto(new URL(link, ward.wire.address).href);
      await soon(() => ward.told(anna.id, 'not-today').map(({ reason }) => reason)).toEqual(['no-time']);
    });

    it('leaves nothing of a link that was taken while its page was closed', async () => {
      const [anna, page] = await fresh();
      await page.page.close();
      await ward.newLink(anna);
      const later = await page.again();
      await later.page.goto(later.address);
      await later.page.getByRole('heading', { name: 'This link does not work' }).waitFor();
      await soon(() => later.page.evaluate('Object.keys(localStorage)')).toEqual([]);
      expect(await later.page.evaluate('caches.keys()')).toEqual([]);
    });

    it('does not let an unsent warning go with its link: somebody calls first', async () => {
      const [anna, page] = await fresh();
      await cut(page);
      await page.press('Something is wrong');
      await page.press('Tell my clinic now');
      await page
        .view('advice')
        .getByText('Your clinic does not know yet. Call them yourself, now.')
        .waitFor();
      await look(page.page, 'advice-unsent');
      await page.press('I have read this');
      const held = page.view('today').getByText('Your clinic does not know yet. Call them yourself, now.');
      await held.filter({ visible: true }).waitFor();
      const link = await ward.newLink(anna);
      await mend(page);
      await page.page.getByText('Your clinic does not know yet that something was wrong.').waitFor();
      await look(page.page, 'dead-unsent');
      await page.press('I have called');
      await page.page.getByRole('heading', { name: 'This link does not work' }).waitFor();
      await page.page.goto(new URL(link, ward.wire.address).href);
      await soon(() => ward.told(anna.id, 'warning').length).toBe(1);
    });

    async function fresh(): Promise<[Patient, Phone]> {
      const anna = await ward.patient();
      const page = await ward.phone(anna.link);
      await page.open();
      await kept(page, 'kept');
      return [anna, page];
    }
  });
}
