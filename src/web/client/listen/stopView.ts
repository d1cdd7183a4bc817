import { Alarm } from './alarm.js';
import { need, onPress, write } from './dom.js';
import { writeFor } from './forWhom.js';
import { onLeaving } from './leaving.js';
import { type Listening, takeBackMs } from './listening.js';
import type { Parts } from './parts.js';
import { giveAdvice } from './signs.js';
import { whatClinicKnows } from './warned.js';

/**
 * `go-on` and `end` say that nothing is wrong, and leave no warning. `warned` ends it: nothing is played until the
 * clinic has answered.
 */
export type Stopped = 'go-on' | 'end' | 'warned';

/**
 * "Stop, something is wrong." What to do is said and shown at once. A warning is written down the moment this opens
 * and goes to the clinic by itself: somebody who feels faint need not press anything more. For a minute it can be taken
 * back, because a hand may have rested on the screen by mistake; not once a sign is ticked, somebody is called, or the
 * phone is put away. After that only the clinic can.
 */
export async function somethingIsWrong(parts: Parts, listening: Listening): Promise<Stopped> {
  const { views, words, prompts, courier } = parts;
  const { person } = listening;
  const form = need<HTMLFormElement>(document, '[data-view="stop"] form');
  form.reset();
  const ticked = () => new FormData(form).getAll('sign').map(String);
  const alarm = new Alarm(listening, courier);

  const stopped = await views.run<Stopped>(
    'stop',
    { back: () => 'warned' },
    ({ element, signal, finish }) => {
      const show = () => {
        const canTakeBack = alarm.canBeTakenBack && ticked().length === 0;
        for (const button of element.querySelectorAll<HTMLElement>('[data-take-back]'))
          button.hidden = !canTakeBack || (button.dataset.do === 'end' && !listening.isBegun);
        const willTell = words.say('stop-will-tell', { seconds: takeBackMs / 1000 });
        write(element, 'told', alarm.canBeTakenBack ? willTell : whatClinicKnows(parts, person.id));
      };
      const mean = () => {
        alarm.mean(ticked());
        show();
      };
      const takeBack = (how: 'go-on' | 'end') => (alarm.takeBack() ? finish(how) : show());
      const timer = setTimeout(() => {
        mean();
        parts.announce(whatClinicKnows(parts, person.id));
      }, takeBackMs);

      onPress(element, '[data-do="go-on"]', signal, () => takeBack('go-on'));
      onPress(element, '[data-do="end"]', signal, () => takeBack('end'));
      onPress(element, '[data-do="say"]', signal, () => prompts.say(person.id, 'stop-now'));
      onPress(element, 'a[href^="tel:"]', signal, mean);
      onLeaving(signal, mean);
      courier.addEventListener('change', show, { signal });
      form.addEventListener('change', show, { signal });
      form.addEventListener(
        'submit',
        (event) => {
          event.preventDefault();
          finish('warned');
        },
        { signal },
      );
      signal.addEventListener('abort', () => {
        clearTimeout(timer);
        prompts.hush();
      });
      writeFor(parts, element, person);
      show();
      prompts.say(person.id, 'stop-now');
    },
  );

  if (stopped === 'warned') alarm.mean(ticked());
  // It was broken off here in any case; whoever goes on goes on from here.
  listening.stop();
  if (stopped === 'warned') await giveAdvice(parts, listening, alarm.signs);
  return stopped;
}
