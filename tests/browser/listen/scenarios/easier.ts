import { describe, expect, it } from 'vitest';
import { look } from '../looks.js';
import { type Phone, soon } from '../phone.js';
import type { Ward } from '../ward.js';

/** About seven minutes with lying down; less than five with the fewest repetitions that the exercise allows. */
const program = {
  'program.exercises.0.dose.reps': '20',
  'easier.shorterMinutes': '5',
  'easier.lighter': 'yes',
};

const shorterOf = ({ page }: Phone) => page.getByRole('button', { name: 'A shorter one today, 5 minutes' });
const lighterOf = ({ page }: Phone) => page.getByRole('button', { name: 'A lighter one today' });

/** On a hard day. */
export function easier(open: () => Ward): void {
  describe('an easier session', () => {
    it('is offered quietly, plays as what it is, and is gone on with as such', async () => {
      const ward = open();
      const anna = await ward.patient({}, program);
      let annas = await ward.phone(anna.link);
      await annas.open();
      const [shorter, lighter] = [shorterOf(annas), lighterOf(annas)];
      await shorter.waitFor();
      await lighter.waitFor();
      await look(annas.page, 'easier');
      // What is easier has to be fetched first.
      await annas.page.context().setOffline(true);
      await lighter.waitFor({ state: 'hidden' });
      expect(await shorter.isVisible()).toBe(false);
      await annas.page.context().setOffline(false);
      await lighter.waitFor();
      await annas.steady();
      await lighter.click();
      await annas.press('Everything is ready');
      await soon(() => annas.said).toContain('welcome');
      await annas.touch();
      await annas.isIn('playing');
      await soon(() => ward.told(anna.id, 'step').map(({ step, choice }) => [step, choice])[0]).toEqual([
        'started',
        'lighter',
      ]);
      await annas.page.close({ runBeforeUnload: false });
      annas = await annas.again();
      await annas.open();
      await annas.page.getByRole('button', { name: 'Go on where you stopped' }).waitFor();
      expect(await shorterOf(annas).count(), 'the lighter one goes on, and no other').toBe(0);
      expect(await lighterOf(annas).count()).toBe(0);
    });
  });
}
