import { need, onPress, write } from './dom.js';
import { type Listening, takeBackMs } from './listening.js';
import type { Parts } from './parts.js';
import { giveAdvice } from './signs.js';

/**
 * `go-on` and `end` say that nothing is wrong, and leave no warning. `warned` ends it: nothing is played until the
 * clinic has answered.
 */
export type Stopped = 'go-on' | 'end' | 'warned';

/**
 * "Stop, something is wrong." What to do is said and shown at once. A warning is written down the moment this opens
 * and goes to the clinic by itself: somebody who feels faint need not press anything more. For twenty seconds a press
 * that says "I am all right" takes it back, because a hand may have rested on the screen by mistake; after that only
 * the clinic can.
 */
export async function somethingIsWrong(parts: Parts, listening: Listening): Promise<Stopped> {
  const { views, words, prompts } = parts;
  let chosen: string[] = [];
  let warningId: string | null = null;

  const stopped = await views.run<Stopped>(
    'stop',
    { back: () => 'warned' },
    ({ element, signal, finish }) => {
      const form = need<HTMLFormElement>(element, 'form');
      form.reset();
      warningId = listening.warn([], takeBackMs);
      const canTakeBack = (can: boolean) => {
        for (const button of element.querySelectorAll<HTMLElement>('[data-take-back]')) button.hidden = !can;
        write(
          element,
          'told',
          words.say(can ? 'stop-will-tell' : 'stop-told', { seconds: takeBackMs / 1000 }),
        );
      };
      canTakeBack(true);
      const timer = setTimeout(() => {
        canTakeBack(false);
        parts.announce(words.say('stop-told'));
      }, takeBackMs);
      const takeBack = (how: 'go-on' | 'end') => {
        if (warningId !== null && listening.takeBack(warningId)) finish(how);
        else canTakeBack(false);
      };
      onPress(element, '[data-do="go-on"]', signal, () => takeBack('go-on'));
      onPress(element, '[data-do="end"]', signal, () => takeBack('end'));
      onPress(element, '[data-do="say"]', signal, () => prompts.say(listening.person.id, 'stop-now'));
      form.addEventListener(
        'submit',
        (event) => {
          event.preventDefault();
          chosen = new FormData(form).getAll('sign').map(String);
          finish('warned');
        },
        { signal },
      );
      signal.addEventListener('abort', () => {
        clearTimeout(timer);
        prompts.hush();
      });
      prompts.say(listening.person.id, 'stop-now');
    },
  );

  if (stopped === 'warned') {
    // The one that names the signs takes the place of the one that only says that something is wrong.
    if (chosen.length > 0 && warningId !== null) listening.takeBack(warningId);
    if (chosen.length > 0) listening.warn(chosen);
    else parts.courier.confirm();
    listening.stop();
    await giveAdvice(parts, chosen);
  }
  if (stopped === 'end') listening.stop();
  return stopped;
}
