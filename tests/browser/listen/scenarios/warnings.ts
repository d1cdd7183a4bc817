import { beforeAll, describe, expect, it } from 'vitest';
import { formOf } from '../../../support/forms.js';
import { look } from '../looks.js';
import { type Phone, soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

/** Something is wrong: what is said, what is told, and what no longer plays. */
export function warnings(open: () => Ward): void {
  describe('when something is wrong', () => {
    let ward: Ward;
    let rosa: Patient;
    let phone: Phone;
    const warned = () => ward.told(rosa.id, 'warning').map(({ signs }) => JSON.parse(String(signs)));

    beforeAll(async () => {
      ward = open();
      rosa = await ward.patient();
      phone = await ward.phone(rosa.link);
      await phone.page.clock.install();
      await phone.open();
    });

    it('stops at a long press, says what to do, and can be taken back by somebody who is all right', async () => {
      await phone.begin();
      await phone.pressLong('stop');
      await soon(() => phone.said).toContain('stop-begin');
      await phone.hearOut();
      await soon(() => phone.said.at(-1)).toBe('stop-now');
      expect(await phone.view('stop').textContent()).toMatch(
        /You told us: something is wrong\..*In \d+ seconds, your clinic will be told that something is wrong\./s,
      );
      expect(await phone.page.evaluate(`document.querySelector('[data-sound=session]').paused`)).toBe(true);
      await look(phone.page, 'stop');
      await phone.press('I pressed by mistake');
      await phone.isIn('playing');
      // Not a warning, and yet told.
      const steps = () => ward.told(rosa.id, 'step').map(({ step }) => step);
      await soon(steps).toEqual(['started', 'paused', 'stopped', 'resumed']);
      await phone.page.clock.fastForward(61_000);
      // What is told later comes after what was told before: had there been a warning, it would be here.
      await soon(() => ward.told(rosa.id, 'step').at(-1)?.step).toBe('reached');
      expect(warned()).toEqual([]);
    });

    it('is no way that an ordinary end has to take', async () => {
      expect(await phone.page.getByRole('button', { name: 'End here' }).count()).toBe(0);
      await phone.touch();
      await phone.isIn('paused');
      await phone.press('End here');
      await phone.sees('sit-up');
      await soon(() => ward.told(rosa.id, 'step').at(-1)?.step).toBe('stopped');
      expect(warned()).toEqual([]);
      await phone.press('Later');
    });

    it('tells the clinic by itself when nobody takes it back', async () => {
      await phone.page.getByRole('button', { name: 'Begin', exact: true }).click();
      await phone.sees('welcome');
      await phone.touch();
      await phone.isIn('playing');
      await phone.page.keyboard.press('Escape');
      await phone.sees('stop');
      // A minute can be taken back; a busy machine takes some of it.
      await phone.page.clock.fastForward(45_000);
      expect(warned()).toEqual([]);
      await phone.page.clock.fastForward(15_500);
      await soon(warned).toEqual([[]]);
      expect(await phone.page.getByRole('button', { name: 'I pressed by mistake' }).isVisible()).toBe(false);
      await phone
        .view('stop')
        .getByText('Your clinic has your message. Do not wait for an answer. Call them.')
        .waitFor();
      await look(phone.page, 'stop-told');
    });

    it('tells what was noticed, and shows what to do about it, the most urgent first', async () => {
      const stop = phone.view('stop');
      await stop.getByRole('checkbox', { name: 'A new, sharp pain in my back' }).check();
      await stop.getByRole('checkbox', { name: 'I cannot get my breath' }).check();
      await phone.press('Tell my clinic now');
      await phone.sees('advice');
      await soon(warned).toEqual([[], ['no-breath', 'new-back-pain']]);
      const advice = phone.view('advice');
      expect(await advice.getByRole('heading', { level: 2 }).allTextContents()).toEqual([
        'I cannot get my breath, or I am short of breath at rest',
        'A new, sharp pain in my back, or my usual one suddenly much worse',
      ]);
      expect(await advice.getByText('Call the emergency number now.').first().isVisible()).toBe(true);
      expect(await advice.getByRole('link').first().getAttribute('href')).toBe('tel:112');
      expect(await advice.getByText('Do not hurry to get up').isVisible()).toBe(false);
      await look(phone.page, 'advice');
    });

    it('plays nothing more until the clinic has answered', async () => {
      await phone.press('I have read this');
      await phone.sees('today');
      expect(await phone.view('today').textContent()).toContain('There is no session until');
      const told = phone.view('today').getByText('Your clinic has your message.');
      await told.filter({ visible: true }).waitFor();
      expect(await phone.page.getByRole('button', { name: 'Begin', exact: true }).count()).toBe(0);
      await look(phone.page, 'held');
      await phone.page.reload();
      await phone.page.getByText('Something was wrong.', { exact: true }).first().waitFor();
      await ward.inClinic(async (ada) => {
        const seen = await formOf(await ada.get(`${rosa.path}/heard`));
        await ada.post(`${rosa.path}/warnings`, { ...seen, note: 'Spoken with her, all is well' });
      });
      await phone.page.reload();
      await phone.page.getByRole('button', { name: 'Begin', exact: true }).waitFor();
    });

    it('is asked about after a session too, and told at once', async () => {
      const anna = await ward.patient();
      const annas = await ward.phone(anna.link);
      await annas.open();
      await annas.begin();
      await annas.page.keyboard.press('s');
      await annas.press('Nothing is wrong. I just want to end here');
      await annas.press('I am sitting up');
      for (const _skipped of ['done', 'pain before', 'pain after', 'effort']) await annas.press('Skip');
      await annas
        .view('check-in')
        .getByRole('checkbox', { name: 'My heart is racing or skipping beats' })
        .check();
      await annas.press('Next');
      await annas.sees('advice');
      await soon(() => ward.told(anna.id, 'warning').map(({ signs }) => signs)).toEqual(['["heart-racing"]']);
      await annas.press('I have read this');
      // Closed here: what was answered is told by the page that goes, or where that was too late by the next one.
      await annas.page.close({ runBeforeUnload: true });
      await (await annas.again()).open();
      await soon(() =>
        ward.told(anna.id, 'check-in').map(({ answers }) => JSON.parse(String(answers))),
      ).toEqual([{ done: null, painBefore: null, painAfter: null, effort: null, signs: ['heart-racing'] }]);
    });

    it('is told with the signs that are ticked, however the stop page is left', async () => {
      const anna = await ward.patient();
      const annas = await ward.phone(anna.link);
      const told = () => ward.told(anna.id, 'warning').map(({ signs }) => JSON.parse(String(signs)));
      await annas.open();
      await annas.press('Tell my clinic how it was');
      expect(await annas.view('check-in').textContent()).toContain('Question 1 of 6');
      await annas.press('Stop here');
      await annas.press('Something is wrong');
      await annas
        .view('stop')
        .getByRole('checkbox', { name: 'My heart is racing or skipping beats' })
        .check();
      expect(await annas.page.getByRole('button', { name: 'I pressed by mistake' }).count()).toBe(0);
      await annas.page.goBack();
      await annas.sees('advice');
      await soon(told).toEqual([['heart-racing']]);
      expect(await annas.view('advice').getByText('Do not hurry to get up').isVisible()).toBe(true);
    });

    it('ends the questions when a sign is an emergency, though it was skipped', async () => {
      const anna = await ward.patient();
      const annas = await ward.phone(anna.link);
      const told = () => ward.told(anna.id, 'warning').map(({ signs }) => JSON.parse(String(signs)));
      const choose = async (name: string) => {
        await annas.page.getByRole('radio', { name, exact: true }).check();
        await annas.press('Next');
      };
      await annas.open();
      await annas.press('Tell my clinic how it was');
      await annas.press('Skip');
      await choose('2');
      await choose('5');
      await annas.page.getByRole('heading', { name: 'Did your pain get worse' }).waitFor();
      await look(annas.page, 'ask-rising');
      await choose('Yes, and it is still worse');
      await annas.sees('advice');
      await soon(told).toEqual([['rising-pain']]);
      await annas.press('I have read this');
      await annas.press('Skip');
      await annas.view('check-in').getByRole('checkbox', { name: 'I cannot get my breath' }).check();
      await annas.press('Skip');
      await annas.sees('advice');
      await soon(() => annas.said).toContain('call-now');
      await annas.press('I have read this');
      await annas.sees('today');
      await soon(told).toEqual([['rising-pain'], ['no-breath', 'rising-pain']]);
      await soon(() =>
        ward.told(anna.id, 'check-in').map(({ answers }) => JSON.parse(String(answers)).signs),
      ).toEqual([['no-breath', 'rising-pain']]);
    });

    it('lets a session be put off, with a reason and what to do about it', async () => {
      const anna = await ward.patient();
      const annas = await ward.phone(anna.link);
      await annas.open();
      await annas.press('Not today');
      await annas.sees('not-today');
      await annas.press('Tell my clinic');
      expect(await annas.view('not-today').getByRole('alert').textContent()).toBe('Please choose a reason.');
      await annas.page.getByRole('radio', { name: 'I have pain' }).check();
      expect(await annas.view('not-today').textContent()).toContain('please call today');
      await look(annas.page, 'not-today');
      await annas.press('Tell my clinic');
      await annas.sees('today');
      await soon(() => ward.told(anna.id, 'not-today').map(({ reason }) => reason)).toEqual(['pain']);
      expect(await annas.view('today').textContent()).toContain('Begin only when you feel better.');
      const begin = annas.page.getByRole('button', { name: 'Begin', exact: true });
      expect(await begin.count()).toBe(0);
      await look(annas.page, 'unwell');
      await annas.press('It is better now');
      await begin.waitFor();
      expect(await annas.view('today').textContent()).toContain('You skipped it. You can still do it.');
    });
  });
}
