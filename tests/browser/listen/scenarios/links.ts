import { beforeAll, describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { soon } from '../phone.js';
import type { Ward } from '../ward.js';

/** Ways in, without scripts, and two phones at once. */
export function links(open: () => Ward): void {
  describe('a link', () => {
    let ward: Ward;
    beforeAll(() => {
      ward = open();
    });

    it('asks for a PIN first, also without scripts, and says plainly when it is wrong', async () => {
      const anna = await ward.patient({ pin: '2580' });
      const plain = await ward.phone(anna.link, { javaScriptEnabled: false });
      await plain.page.goto(plain.address);
      await plain.page.getByLabel('PIN').fill('1111');
      await plain.press('Open');
      expect(await plain.page.getByRole('alert').textContent()).toContain('That is not the right number');
      await plain.page.getByLabel('PIN').fill('2580');
      await plain.press('Open');
      await plain.page.getByRole('heading', { name: 'Short program' }).waitFor();
      expect(await plain.page.locator('audio[controls]').count()).toBe(1);
      const withScript = await ward.phone(anna.link);
      await withScript.page.goto(withScript.address);
      await look(withScript.page, 'pin');
    });

    it('can be typed as a code, and says what to do when it does not work', async () => {
      const phone = await ward.phone('/l');
      await phone.page.goto(phone.address);
      await look(phone.page, 'code');
      await phone.page.getByLabel('Code').fill('nothing-of-the-kind');
      await phone.press('Open');
      expect(await phone.page.getByRole('alert').textContent()).toContain('call your clinic');
    });

    it('is the same on a second phone, which sees what was begun on the first', async () => {
      const anna = await ward.patient();
      const [first, second] = [await ward.phone(anna.link), await ward.phone(anna.link)];
      await first.open();
      await first.begin();
      await soon(() => ward.told(anna.id, 'step').length).toBe(1);
      await second.open();
      expect(await second.view('today').textContent()).toContain(
        'It was started before, here or on another phone.',
      );
      await look(second.page, 'begun-elsewhere');
      await second.press('Begin');
      await second.touch();
      await second.isIn('playing');
      await soon(() => new Set(ward.told(anna.id, 'step').map(({ listeningId }) => listeningId)).size).toBe(
        2,
      );
    });

    it('opens settings that stay on the phone, and an address for other players', async () => {
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link);
      await phone.open();
      await phone.page.getByText('Sound, screen and more').click();
      await phone.press('Softer');
      await soon(() => phone.said.at(-1)).toBe('voice-check');
      await phone.page.getByRole('checkbox', { name: 'The screen may go dark while I listen' }).check();
      await phone.press('Give me an address');
      const address = phone.page.locator('[data-text="feed"]');
      await soon(() => address.textContent()).toContain('/feed/');
      await phone.press('Add to my calendar');
      const calendar = phone.page.locator('[data-text="calendar"]');
      await soon(() => calendar.textContent()).toMatch(/\/calendar\/[\w-]{43}\.ics$/);
      const opens = phone.page.getByRole('link', { name: 'Open it in this phone’s calendar' });
      expect(await opens.getAttribute('href')).toMatch(/^webcal:.*\.ics$/);
      await look(phone.page, 'settings');
      await phone.page.reload();
      await phone.sees('today');
      expect(await phone.page.evaluate(`document.querySelector('[data-sound=session]').volume`)).toBe(0.85);
      await phone.page.getByText('Sound, screen and more').click();
      expect(await phone.page.getByRole('checkbox', { name: 'The screen may go dark' }).isChecked()).toBe(
        true,
      );
    });
  });
}
