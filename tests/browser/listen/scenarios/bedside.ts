import { beforeAll, describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { calm, type Phone, soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

/** A caregiver's tablet beside the bed, from one evening to the next day, with both clocks moved together. */
export function bedside(open: () => Ward): void {
  describe('a tablet beside the bed', () => {
    let ward: Ward;
    let rosa: Patient;
    let tablet: Phone;
    const chimes = () => tablet.page.evaluate('window.chimes.length');

    beforeAll(async () => {
      ward = open();
      rosa = await ward.patient();
      tablet = await ward.phone(await ward.caregiver(rosa), { viewport: { width: 1024, height: 768 } });
      // What is really played by the browser's own sound system, note by note.
      await tablet.page.addInitScript(`window.chimes = [];
        const start = OscillatorNode.prototype.start;
        OscillatorNode.prototype.start = function (...when) {
          window.chimes.push(this.frequency.value);
          return start.apply(this, when);
        };`);
    });

    async function goTo(time: string, daysAhead: number): Promise<void> {
      const nowMs = ward.setTime(time, daysAhead);
      await tablet.page.clock.setSystemTime(nowMs);
      await tablet.page.clock.runFor(2_000);
    }

    it('shows a dim clock, who is next and when, and keeps the screen on', async () => {
      await tablet.page.clock.install({ time: ward.setTime('21:30') });
      await tablet.open();
      await look(tablet.page, 'caregiver');
      await tablet.press('Keep this tablet beside the bed');
      await tablet.sees('bedside');
      await soon(() => tablet.view('bedside').textContent()).toContain('Next: Rosa, tomorrow at 9:00');
      expect(tablet.page.url()).toMatch(/#bedside$/);
      await look(tablet.page, 'bedside');
    });

    it('says whom to call at a long press while nothing is due, and stays', async () => {
      await tablet.page.keyboard.press('Escape');
      await tablet.sees('call');
      const first = tablet.view('call').getByRole('link').first();
      expect(await first.getAttribute('href')).toBe('tel:112');
      await look(tablet.page, 'bedside-call');
      await tablet.press('Back');
      await tablet.sees('bedside');
    });

    it('survives a night without the network and calls softly in the morning', async () => {
      ward.wire.cut();
      for (const time of ['00:30', '04:00', '08:59']) await goTo(time, 1);
      expect(await chimes()).toBe(0);
      ward.wire.mend();
      await goTo('09:00', 1);
      await tablet.page.locator('[data-view="bedside"][data-state="due"]').waitFor();
      await soon(() => tablet.view('bedside').textContent()).toContain('Rosa, it is time');
      await soon(chimes).toBe(2);
      await soon(() => tablet.said.at(-1)).toBe('time-for-session');
      await goTo('09:01', 1);
      await soon(chimes).toBe(4);
      await look(tablet.page, 'bedside-due');
    });

    it('stops at a long press when a session is due; what was a mistake goes back to the bedside', async () => {
      await tablet.pressLong('stop');
      expect(await tablet.view('stop').textContent()).toContain('For Rosa');
      await tablet.press('I pressed by mistake');
      await tablet.sees('bedside');
      expect(ward.told(rosa.id, 'warning')).toEqual([]);
    });

    it('begins with one key, listens for somebody, and goes back to its clock', async () => {
      await tablet.page.keyboard.press('x');
      await tablet.press('Everything is ready');
      await tablet.sees('welcome');
      await tablet.touch();
      await tablet.isIn('playing');
      await tablet.page.getByRole('heading', { name: 'Next: Ankle pumps' }).waitFor();
      const pictures = await tablet.page.locator('[data-now-next]').boundingBox();
      expect((pictures?.y ?? 768) + (pictures?.height ?? 0), 'beside whoever looks').toBeLessThan(768);
      await tablet.page.keyboard.press('ArrowRight');
      await tablet.view('player').getByText('Feet pointed. Both feet move').waitFor();
      await look(tablet.page, 'player-helper');
      await movesWithItsSession();
      const { durationMs } = await tablet.played();
      await tablet.jumpTo(durationMs - 1_000);
      await tablet.sees('sit-up');
      await tablet.press('I am sitting up');
      for (const _skipped of ['done', 'pain before', 'pain after', 'effort', 'signs', 'note'])
        await tablet.press('Skip');
      await tablet.press('To the first page');
      await tablet.sees('bedside');
      await soon(() => tablet.view('bedside').textContent()).toContain('Next: Rosa, tomorrow at 9:00');
      await soon(() => ward.told(rosa.id, 'check-in').length).toBe(1);
      const [checkIn] = ward.told(rosa.id, 'check-in');
      expect(checkIn?.caregiverId, 'it was told by the caregiver').not.toBeNull();
    });

    async function movesWithItsSession(): Promise<void> {
      expect(await tablet.page.locator('[data-now] svg').count(), 'still, in two poses').toBe(2);
      await tablet.press('Show it moving');
      const foot = tablet.page.locator('[data-now] [data-steps]').first();
      const drawn = () => foot.getAttribute('d');
      const start = await drawn();
      await soon(drawn).not.toBe(start);
      await tablet.page.keyboard.press(' ');
      await tablet.isIn('paused');
      const paused = await drawn();
      await calm();
      expect(await drawn()).toBe(paused);
      await tablet.page.keyboard.press(' ');
      await tablet.isIn('playing');
      await soon(drawn).not.toBe(paused);
      await tablet.press('Hold the picture still');
      expect(await tablet.page.locator('[data-now] svg').count()).toBe(2);
    }

    it('opens beside the bed again after it was started anew, and asks for the touch that lets it chime', async () => {
      await tablet.page.reload();
      await tablet.sees('bedside');
      await tablet.page.getByRole('button', { name: 'Touch once, so that this tablet can chime' }).waitFor();
      await look(tablet.page, 'bedside-silent');
      await tablet.touch();
      await tablet.page.locator('[data-view="bedside"][data-state="waiting"]').waitFor();
      await tablet.press('Back to the first page');
      await tablet.sees('today');
      expect(tablet.page.url()).not.toContain('#bedside');
      expect(tablet.complaints).toEqual([]);
    });
  });
}
