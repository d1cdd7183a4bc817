import { describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { type Phone, soon } from '../phone.js';
import type { Patient, Ward } from '../ward.js';

/** What is said to somebody who writes of a warning sign in a note. */
export function notes(open: () => Ward): void {
  describe('a note that may name a warning sign', () => {
    const told = (rosa: Patient) => ({
      signs: () =>
        open()
          .told(rosa.id, 'warning')
          .map(({ signs }) => JSON.parse(String(signs))),
      notes: () =>
        open()
          .told(rosa.id, 'check-in')
          .map(({ answers }) => JSON.parse(String(answers)).note),
    });

    /** At the last question, with something written. */
    async function writes(text: string): Promise<{ rosa: Patient; phone: Phone }> {
      const ward = open();
      const rosa = await ward.patient();
      const phone = await ward.phone(rosa.link);
      await phone.open();
      await phone.press('Tell my clinic how it was');
      for (const _skipped of ['done', 'pain before', 'pain after', 'effort', 'signs'])
        await phone.press('Skip');
      await phone.page.getByRole('textbox').fill(text);
      return { rosa, phone };
    }

    it('is said to be no call for help, at once and with the numbers, and can stay a note', async () => {
      const { rosa, phone } = await writes('I fel yesterday and my head hurts');
      const beside = phone.view('check-in').getByText('If you need help now, call.');
      await beside.filter({ visible: true }).waitFor();
      await look(phone.page, 'ask-note-words');
      await phone.press('Next');
      await phone.sees('note-words');
      await soon(() => phone.said.at(-1)).toBe('note-no-call');
      expect(await phone.view('note-words').getByRole('link').first().getAttribute('href')).toBe('tel:112');
      await look(phone.page, 'note-words');
      await phone.press('I am all right. Just save my note');
      await phone.sees('thanks');
      await soon(told(rosa).notes).toEqual(['I fel yesterday and my head hurts']);
      expect(told(rosa).signs(), 'nothing is stopped by a note').toEqual([]);
      expect(phone.complaints).toEqual([]);
    });

    it('becomes a warning sign at one touch, and stays a note as well', async () => {
      const { rosa, phone } = await writes('pressure in my chest');
      await phone.press('Next');
      await phone.press('Tell my clinic now');
      await phone.sees('advice');
      await soon(told(rosa).signs).toEqual([['chest-pain']]);
      await phone.press('I have read this');
      await phone.sees('today');
      expect(await phone.view('today').textContent()).toContain('There is no session until');
      await soon(told(rosa).notes).toEqual(['pressure in my chest']);
    });

    it('is kept and said, however the question is left', async () => {
      const { rosa, phone } = await writes('my left leg is numb');
      await phone.press('Skip');
      await phone.press('I am all right. Just save my note');
      await phone.sees('thanks');
      await soon(told(rosa).notes).toEqual(['my left leg is numb']);
      const other = await writes('I passed out');
      await other.phone.press('Stop here');
      await other.phone.sees('note-words');
      await other.phone.press('I am all right. Just save my note');
      await soon(told(other.rosa).notes).toEqual(['I passed out']);
    });

    it('is not made of a note that names none', async () => {
      const { rosa, phone } = await writes('I feel good, and fell asleep at the end');
      expect(await phone.view('check-in').getByText('If you need help now, call.').isVisible()).toBe(false);
      await phone.press('Next');
      await phone.sees('thanks');
      await soon(told(rosa).notes).toEqual(['I feel good, and fell asleep at the end']);
    });
  });
}
