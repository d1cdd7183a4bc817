import type { PlannedPerson } from '../../listening/plan.js';
import { onPress, writeText } from './dom.js';
import type { Parts } from './parts.js';
import { writePatientLabel } from './patientLabel.js';
import { makeOneButton, onKeys } from './touch.js';

const mostTimesSaid = 3;
const pauseBetweenMs = 8_000;

/** Shows and speaks what to check before the very first session: what has to be within reach and in order. */
export function showFirstCheck(parts: Parts, person: PlannedPerson): Promise<'ready' | 'left'> {
  const { views, prompts, wake } = parts;
  return views.run<'ready' | 'left'>('check', { back: () => 'left' }, ({ element, signal, finish }) => {
    const say = () => prompts.say(person.id, 'first-check');
    onPress(element, '[data-do="ready"]', signal, () => finish('ready'));
    onPress(element, '[data-do="say"]', signal, say);
    onPress(element, '[data-do="leave"]', signal, () => finish('left'));
    signal.addEventListener('abort', () => prompts.hush());
    wake.want(true);
    say();
  });
}

/**
 * Shows the welcome. The voice greets the listener, which also shows whether it is loud enough; one touch anywhere
 * starts the session. The greeting is repeated a few times for someone who has not heard it. A listener who resumes a
 * session lies down first too.
 */
export function showWelcome(
  parts: Parts,
  { person, title, isGoingOn }: { person: PlannedPerson; title: string; isGoingOn: boolean },
): Promise<'touched' | 'wrong' | 'left'> {
  const { views, words, prompts, wake, controls, volume } = parts;
  return views.run<'touched' | 'wrong' | 'left'>(
    'welcome',
    { back: () => 'left' },
    ({ element, signal, finish }) => {
      writePatientLabel(parts, element, person);
      writeText(element, 'title', title);
      writeText(element, 'how', words.say(isGoingOn ? 'welcome-again' : 'welcome-new'));
      writeText(element, 'trouble', '');
      const begin = () => finish('touched');
      makeOneButton(element, signal, { onTouch: begin, onLongPress: () => finish('wrong') });
      onPress(element, '[data-do="stop"]', signal, () => finish('wrong'));
      onKeys(signal, element, {
        ' ': begin,
        Enter: begin,
        s: () => finish('wrong'),
        Escape: () => finish('wrong'),
        ArrowUp: () => volume.change(1),
        ArrowDown: () => volume.change(-1),
      });
      const nothing = () => undefined;
      controls.give({ play: begin, pause: begin, next: nothing, previous: nothing, seek: nothing });
      signal.addEventListener('abort', () => {
        prompts.hush();
        controls.give(null);
      });
      wake.want(true);
      sayAgain();

      async function sayAgain(): Promise<void> {
        for (let times = 0; times < mostTimesSaid && !signal.aborted; times += 1) {
          const spoken = await prompts.say(person.id, 'welcome');
          if (spoken === 'failed') writeText(element, 'trouble', words.say('no-voice'));
          if (spoken !== 'ended') return;
          await new Promise((resolve) => setTimeout(resolve, pauseBetweenMs));
        }
      }
    },
  );
}
