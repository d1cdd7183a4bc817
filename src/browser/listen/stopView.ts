import { Alarm } from './alarm.js';
import { onPress, requireElement, writeText } from './dom.js';
import { type Listening, takeBackMs } from './listening.js';
import { onPageHide } from './pageHide.js';
import type { Parts } from './parts.js';
import { writePatientLabel } from './patientLabel.js';
import { showSignAdvice } from './signs.js';
import { describeClinicKnowledge, speakClinicKnowledge } from './warned.js';

/** This long before the message is sent, the voice says so once more, unless it is speaking something else. */
const saysSoonBeforeMs = 10_000;

/**
 * `go-on` and `end` mean that nothing is wrong, and leave no warning. After `warned`, nothing is played until the
 * clinic has answered.
 */
export type Stopped = 'go-on' | 'end' | 'warned';

/**
 * Shows "Stop, something is wrong." It shows and speaks at once what to do. A warning is stored the moment this view
 * opens and is sent to the clinic automatically, so that someone who feels faint does not have to press anything else.
 * It can be taken back for a minute, because a hand may have rested on the screen by mistake, but not once a sign is
 * ticked, someone is called, or the phone is put away. After that only the clinic can close it.
 */
export async function showStop(parts: Parts, listening: Listening): Promise<Stopped> {
  const { views, words, prompts, courier } = parts;
  const { person } = listening;
  const form = requireElement<HTMLFormElement>(document, '[data-view="stop"] form');
  form.reset();
  const ticked = () => new FormData(form).getAll('sign').map(String);
  const alarm = new Alarm(listening, courier);
  const endsAtMs = performance.now() + takeBackMs;
  const leftMs = () => Math.max(0, endsAtMs - performance.now());

  const stopped = await views.run<Stopped>(
    'stop',
    { back: () => 'warned' },
    ({ element, signal, finish }) => {
      const show = () => {
        const canTakeBack = alarm.canBeTakenBack && ticked().length === 0;
        for (const button of element.querySelectorAll<HTMLElement>('[data-take-back]'))
          button.hidden = !canTakeBack || (button.dataset.do === 'end' && !listening.isBegun);
        const [what, seconds] = [ticked().length === 0 ? '' : '-signs', Math.ceil(leftMs() / 1_000)];
        writeText(element, 'understood', words.say(`stop-understood${what}`, { signs: tickedInWords(form) }));
        const willTell = words.say(`stop-will-tell${what}`, { seconds });
        writeText(
          element,
          'told',
          alarm.canBeTakenBack ? willTell : describeClinicKnowledge(parts, person.id),
        );
      };
      const mean = () => {
        alarm.mean(ticked());
        show();
      };
      const takeBack = (how: 'go-on' | 'end') => (alarm.takeBack() ? finish(how) : show());
      const timer = setTimeout(() => {
        mean();
        parts.announce(describeClinicKnowledge(parts, person.id));
        speakClinicKnowledge(parts, person.id, signal);
      }, takeBackMs);
      const ticking = setInterval(show, 1_000);
      const soon = setTimeout(() => {
        if (prompts.saying === null) prompts.say(person.id, 'stop-soon');
      }, takeBackMs - saysSoonBeforeMs);

      onPress(element, '[data-do="go-on"]', signal, () => takeBack('go-on'));
      onPress(element, '[data-do="end"]', signal, () => takeBack('end'));
      onPress(element, '[data-do="say"]', signal, () => prompts.say(person.id, 'stop-now'));
      onPress(element, 'a[href^="tel:"]', signal, mean);
      onPageHide(signal, mean);
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
        clearTimeout(soon);
        clearInterval(ticking);
        prompts.hush();
      });
      writePatientLabel(parts, element, person);
      show();
      // The voice first says what happens automatically, then when to call; a repeat has only the latter.
      prompts.say(person.id, 'stop-begin').then((how) => {
        if (how !== 'cut' && !signal.aborted) prompts.say(person.id, 'stop-now');
      });
    },
  );

  if (stopped === 'warned') alarm.mean(ticked());
  // The session stopped here in any case; a listener who continues resumes from here.
  listening.stop();
  if (stopped === 'warned') await showSignAdvice(parts, listening, alarm.signs);
  return stopped;
}

/** Returns the ticked signs, in the words of the form. */
function tickedInWords(form: HTMLFormElement): string {
  const boxes = [...form.querySelectorAll<HTMLInputElement>('input[name="sign"]:checked')];
  return boxes.map((box) => box.parentElement?.textContent?.trim() ?? '').join('; ');
}
