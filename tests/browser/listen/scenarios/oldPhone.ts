import { beforeAll, describe, expect, it } from 'vitest';
import { asOldPhone } from '../newer.js';
import { soon } from '../phone.js';
import type { Ward } from '../ward.js';

/** A phone of 2021, which has none of the newer interfaces. */
export function oldPhone(open: () => Ward): void {
  describe('a phone of 2021', () => {
    let ward: Ward;
    beforeAll(() => {
      ward = open();
    });

    it('reports a whole session, its answers and a warning sign', async () => {
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link);
      await phone.page.addInitScript(asOldPhone);
      await phone.open();
      const left = await phone.page.evaluate(
        `[AbortSignal.timeout, Array.prototype.at, window.structuredClone, Object.hasOwn, crypto.randomUUID,
          navigator.locks, [].findLast, URL.canParse].filter((each) => each !== undefined).length`,
      );
      expect(left, 'they are really gone').toBe(0);
      await phone.begin();
      await phone.touch();
      await phone.isIn('paused');
      await phone.touch();
      await phone.isIn('playing');
      const { durationMs } = await phone.played();
      await phone.jumpTo(durationMs - 1_000);
      await phone.press('I am sitting up');
      for (const _skipped of ['done', 'pain before', 'pain after', 'effort']) await phone.press('Skip');
      await phone
        .view('check-in')
        .getByRole('checkbox', { name: 'My heart is racing or skipping beats' })
        .check();
      await phone.press('Next');
      await phone.sees('advice');
      await soon(() => ward.told(anna.id, 'warning').map(({ signs }) => signs)).toEqual(['["heart-racing"]']);
      await phone.view('advice').getByText('Your clinic has your message.').waitFor();
      await phone.press('I have read this');
      await phone.page.getByRole('textbox').fill('From an old phone');
      await phone.press('Next');
      await phone.sees('thanks');
      await soon(() =>
        ward.told(anna.id, 'check-in').map(({ answers }) => JSON.parse(String(answers)).note),
      ).toEqual(['From an old phone']);
      const steps = ward.told(anna.id, 'step').map(({ step }) => step);
      expect(steps.filter((step) => step !== 'reached')).toEqual([
        'started',
        'paused',
        'resumed',
        'finished',
      ]);
      expect(phone.complaints).toEqual([]);
    });

    it('tells a warning from the first page, and says “has a message” only when the service has it', async () => {
      const anna = await ward.patient();
      const phone = await ward.phone(anna.link);
      await phone.page.addInitScript(asOldPhone);
      await phone.open();
      await phone.page.route('**/report', (route) => route.abort());
      await phone.press('Something is wrong');
      await phone.press('Tell my clinic now');
      const advice = phone.view('advice');
      await advice.getByText('Your clinic does not know yet.').waitFor();
      expect(await advice.getByText('Your clinic has your message.').count()).toBe(0);
      expect(ward.told(anna.id, 'warning')).toEqual([]);
      await phone.page.unroute('**/report');
      await phone.page.evaluate(`window.dispatchEvent(new Event('online'))`);
      await advice.getByText('Your clinic has your message.').waitFor();
      expect(ward.told(anna.id, 'warning')).toHaveLength(1);
    });
  });
}
