import { beforeAll, describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { type Phone, soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

/** One person's first session, from the link to the last answer. */
export function listening(open: () => Ward): void {
  describe('listening on a phone', () => {
    let ward: Ward;
    let rosa: Patient;
    let phone: Phone;
    const steps = (id: string) => ward.told(id, 'step').map(({ step }) => step);

    beforeAll(async () => {
      ward = open();
      rosa = await ward.patient();
      phone = await ward.phone(rosa.link);
      await phone.page.addInitScript(`window.mediaHandlers = {};
        const session = navigator.mediaSession;
        const set = session.setActionHandler.bind(session);
        session.setActionHandler = (action, handler) => {
          set(action, handler);
          window.mediaHandlers[action] = handler;
        };`);
    });

    it('is under 100 KB before the first sound', async () => {
      const weights: Promise<number>[] = [];
      phone.page.on('requestfinished', (request) => {
        if (/\/l\/[\w-]+\/$|\/assets\//.test(request.url()))
          weights.push(request.sizes().then(({ responseBodySize }) => responseBodySize));
      });
      await phone.open();
      // As they came over the network.
      const bytes = (await Promise.all(weights)).reduce((sum, each) => sum + each, 0);
      expect(bytes).toBeGreaterThan(20_000);
      expect(bytes).toBeLessThan(100_000);
    });

    it('shows in large type what is for now, by the service’s clock, and whom to call', async () => {
      const today = await phone.view('today').textContent();
      expect(today).toContain('Planned for 9:00');
      expect(today).toMatch(/About \d minutes/);
      expect(today).toContain('0100 555 00');
      expect(today).toContain('112');
      expect(await phone.page.getByRole('link', { name: 'Call Quillmere' }).getAttribute('href')).toBe(
        'tel:010055500',
      );
      await look(phone.page, 'today');
    });

    it('shows how to lie and each exercise before the start, still where less motion is asked for', async () => {
      const begin = await phone.page.getByRole('button', { name: 'Begin', exact: true }).boundingBox();
      expect((begin?.y ?? 0) + (begin?.height ?? 0), 'on the first screen').toBeLessThan(844);
      await phone.press('See how it is done');
      const figures = phone.view('figures');
      await figures.getByRole('img', { name: 'Lying on the back, knees bent' }).waitFor();
      await figures.getByText('Ankle pumps', { exact: true }).click();
      await figures.getByText('Feet pointed. Both feet move').waitFor();
      expect(await figures.locator('[data-moving] svg').isVisible()).toBe(false);
      await look(phone.page, 'figures');
      await phone.press('Show it moving');
      const foot = figures.locator('[data-moving] [data-steps]').first();
      const start = await foot.getAttribute('d');
      await soon(() => foot.getAttribute('d')).not.toBe(start);
      await phone.press('Hold the picture still');
      expect(await figures.locator('[data-moving] svg').isVisible()).toBe(false);
      await phone.press('Back');
      await phone.sees('today');
    });

    it('checks before the first time, says hello, and begins with one touch anywhere', async () => {
      await phone.press('Begin');
      await phone.sees('check');
      await soon(() => phone.said).toContain('first-check');
      await look(phone.page, 'check');
      await phone.press('Everything is ready');
      await soon(() => phone.said).toContain('welcome');
      await look(phone.page, 'welcome');
      await phone.touch(2, 2);
      await phone.isIn('playing');
      await soon(() => steps(rosa.id)).toEqual(['started']);
      expect(await phone.view('player').textContent()).toMatch(/Welcome\s+\d minutes left/);
      await phone.page.getByRole('heading', { name: 'Next: Ankle pumps' }).waitFor();
      const first = await phone.page.locator('[data-now-next]').boundingBox();
      expect(first?.y, 'below all that a blind touch may reach').toBeGreaterThanOrEqual(844);
      await look(phone.page, 'player');
      // The click that a browser sends after a touch has not paused it.
      await phone.isIn('playing');
      expect(steps(rosa.id)).toEqual(['started']);
    });

    it('pauses and goes on with a touch in any corner; a short pause goes on where it stopped', async () => {
      await phone.touch(385, 840);
      await phone.isIn('paused');
      const stoppedAt = await phone.positionMs();
      await phone.touch(385, 4);
      await phone.isIn('playing');
      await soon(() => steps(rosa.id)).toEqual(['started', 'paused', 'resumed']);
      const [, paused, resumed] = ward.told(rosa.id, 'step');
      expect(Number(paused?.positionMs)).toBeCloseTo(stoppedAt, -2);
      expect(resumed?.positionMs).toBe(paused?.positionMs);
      expect(phone.said.filter((key) => key.startsWith('go-on'))).toEqual([]);
    });

    it('goes on from the last resume point after a long pause, and says so first', async () => {
      const { resumePointsMs, chapters } = await phone.played();
      const inExercise = resumePointsMs.filter((point) => point > (chapters[1]?.startMs ?? 0));
      const point = inExercise[2] ?? 0;
      // In the middle of the third repetition.
      await phone.jumpTo(point + 2_500);
      await phone.touch();
      await phone.isIn('paused');
      await look(phone.page, 'paused');
      await phone.page.clock.install();
      await phone.page.clock.fastForward(60_000);
      await phone.touch();
      await soon(() => phone.said.at(-1)).toBe('go-on-before');
      await phone.hearOut();
      await phone.isIn('playing');
      await soon(() => ward.told(rosa.id, 'step').at(-1)).toMatchObject({
        step: 'resumed',
        positionMs: point,
      });
    });

    it('is controlled by keys: the space bar, and arrows by exercise', async () => {
      const { chapters } = await phone.played();
      await phone.page.keyboard.press(' ');
      await phone.isIn('paused');
      await phone.page.keyboard.press('Enter');
      await phone.isIn('playing');
      await phone.page.keyboard.press('ArrowRight');
      const chapter = phone.view('player').locator('h1');
      await soon(() => chapter.textContent()).toBe(chapters.at(-1)?.title);
      await phone.page.keyboard.press('ArrowRight');
      await soon(() => chapter.textContent(), 'there is none after the last').toBe(chapters.at(-1)?.title);
      await phone.page.keyboard.press('ArrowLeft');
      await soon(() => chapter.textContent()).toBe(chapters.at(-2)?.title);
    });

    it('shows the figure of now below, and no control that a blind touch might meet', async () => {
      const player = phone.view('player');
      await player.getByText('Feet pointed. Both feet move').waitFor();
      expect(await player.locator('[data-now] svg').count(), 'its two poses').toBe(2);
      expect(await player.locator('[data-next] svg').count(), 'nothing to be done follows').toBe(0);
      const buttons = player.getByRole('button').filter({ visible: true });
      expect(await buttons.allTextContents()).toEqual(['Pause', 'Stop, something is wrong']);
    });

    it('is controlled from a lock screen or a headset, which never land in the middle of a count', async () => {
      const { chapters, resumePointsMs } = await phone.played();
      // What the browser was given to call (W3C Media Session); it has no jumps by seconds.
      const handled = await phone.page.evaluate(
        'Object.entries(mediaHandlers).filter(([, handler]) => handler !== null).map(([action]) => action)',
      );
      expect(handled).toEqual(['play', 'pause', 'stop', 'previoustrack', 'nexttrack', 'seekto']);
      const control = (action: string, details = '{}') =>
        phone.page.evaluate(`mediaHandlers.${action}(${details})`);
      const media = () =>
        phone.page.evaluate('[navigator.mediaSession.playbackState, navigator.mediaSession.metadata.title]');
      await control('pause');
      await phone.isIn('paused');
      expect(await media()).toEqual(['paused', chapters[1]?.title]);
      await control('play');
      await phone.isIn('playing');
      expect(await media()).toEqual(['playing', chapters[1]?.title]);
      const point = resumePointsMs.find((each) => each > (chapters[1]?.startMs ?? 0)) ?? 0;
      await control('seekto', `{ seekTime: ${(point + 4_000) / 1000} }`);
      await soon(() => ward.told(rosa.id, 'step').at(-1)).toMatchObject({
        step: 'resumed',
        positionMs: point,
      });
      await control('stop');
      await phone.isIn('paused');
      await control('nexttrack');
      await phone.isIn('playing');
      expect(await media()).toEqual(['playing', chapters.at(-1)?.title]);
      await control('previoustrack');
      await soon(media).toEqual(['playing', chapters[1]?.title]);
    });

    it('goes on in the same listening where a page that was closed had left it', async () => {
      const { resumePointsMs } = await phone.played();
      const point = resumePointsMs.at(-3) ?? 0;
      await phone.jumpTo(point + 3_000);
      // Kept once a second.
      await soon(() =>
        phone.page.evaluate(`Object.entries(localStorage)
      .filter(([key]) => key.includes('place:')).map(([, place]) => JSON.parse(place).positionMs)[0]`),
      ).toBeGreaterThan(point + 3_000);
      await phone.page.close({ runBeforeUnload: false });
      phone = await phone.again();
      await phone.open();
      await look(phone.page, 'go-on');
      await phone.press('Go on where you stopped');
      await phone.sees('welcome');
      expect(await phone.view('welcome').textContent()).toContain('Lie down as before.');
      await phone.touch();
      await soon(() => phone.said).toContain('go-on-before');
      await phone.hearOut();
      await phone.isIn('playing');
      const told = () => ward.told(rosa.id, 'step');
      await soon(() => told().at(-1)).toMatchObject({ step: 'resumed', positionMs: point });
      expect(new Set(told().map(({ listeningId }) => listeningId)).size).toBe(1);
      expect(new Set(told().map(({ id }) => id)).size).toBe(told().length);
    });

    it('asks its questions after the end, by keyboard alone, and keeps each answer while the page is closed', async () => {
      const { durationMs } = await phone.played();
      await phone.jumpTo(durationMs - 1_500);
      await phone.sees('sit-up');
      await soon(() => steps(rosa.id).at(-1)).toBe('finished');
      await look(phone.page, 'sit-up');
      expect(phone.said.at(-1)).toBe('sit-up');
      const { keyboard } = phone.page;
      const go = async (name: string) => {
        await phone.steady();
        await phone.page.getByRole('button', { name, exact: true }).focus();
        await keyboard.press('Enter');
        await phone.steady();
      };
      await go('I am sitting up');
      await look(phone.page, 'ask-done');
      await go('Next');
      expect(await phone.page.getByRole('alert').filter({ visible: true }).textContent()).toBe(
        'Please choose one, or press Skip.',
      );
      await phone.page.getByRole('radio', { name: 'All of it' }).focus();
      await keyboard.press('ArrowDown');
      await keyboard.press('Enter');
      await phone.steady();
      await go('Read it to me');
      await soon(() => phone.said.at(-1)).toBe('ask-pain-before');
      await look(phone.page, 'ask-pain');
      await go('Skip');
      // Left in the middle: what was answered is with the clinic, and the rest can still be told.
      await phone.page.reload();
      await phone.sees('today');
      await soon(() =>
        ward.told(rosa.id, 'check-in').map(({ answers }) => JSON.parse(String(answers))),
      ).toEqual([{ done: 'most', painBefore: null }]);
      await phone.press('Answer the questions');
      await phone.press('I am sitting up');
      expect(await phone.view('check-in').textContent()).toContain('Question 3 of 6');
      await phone.page.getByRole('radio', { name: '3', exact: true }).check();
      await go('Next');
      await look(phone.page, 'ask-effort');
      await phone.page.getByRole('radio', { name: '10', exact: true }).check();
      await go('Back');
      expect(await phone.page.getByRole('radio', { name: '3', exact: true }).isChecked()).toBe(true);
      await go('Next');
      await go('Next');
      await look(phone.page, 'ask-signs');
      await phone.page.getByRole('checkbox', { name: 'None of these' }).check();
      await go('Next');
      await look(phone.page, 'ask-note');
      await phone.page.getByRole('textbox').fill('It went well.');
      await go('Next');
      await phone.sees('thanks');
      await look(phone.page, 'thanks');
      await phone.press('To the first page');
      await soon(() => phone.view('today').textContent()).toContain('Short program: done');
      const answers = ward.told(rosa.id, 'check-in').map((told) => JSON.parse(String(told.answers)));
      expect(answers.at(-1)).toEqual({
        done: 'most',
        painBefore: null,
        painAfter: 3,
        effort: 10,
        signs: [],
        note: 'It went well.',
      });
      expect(answers).toHaveLength(2);
      expect(phone.complaints).toEqual([]);
    });
  });
}
