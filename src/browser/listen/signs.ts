import { onPress, writeText } from './dom.js';
import type { Listening } from './listening.js';
import type { Parts } from './parts.js';
import { describeClinicKnowledge, speakClinicKnowledge } from './warned.js';

/**
 * Shows what to do about the chosen warning signs, most urgent first, in the words of the page's template; with none
 * chosen, the advice that always applies. In an emergency it is also spoken.
 *
 * @returns whether one of them is an emergency, once the listener has read the advice
 */
export function showSignAdvice(
  parts: Parts,
  { person }: Listening,
  signs: readonly string[],
): Promise<'emergency' | 'other'> {
  const { views, prompts, courier } = parts;
  type Kind = 'emergency' | 'other';
  let kind: Kind = 'other';
  return views.run<Kind>('advice', { back: () => kind }, ({ element, signal, finish }) => {
    for (const advice of element.querySelectorAll<HTMLElement>('[data-sign]')) {
      advice.hidden = !signs.includes(advice.dataset.sign ?? '');
      if (!advice.hidden && advice.hasAttribute('data-emergency')) kind = 'emergency';
    }
    element.toggleAttribute('data-is-emergency', kind === 'emergency');
    const showTold = () => writeText(element, 'told', describeClinicKnowledge(parts, person.id));
    courier.addEventListener('change', showTold, { signal });
    showTold();
    onPress(element, '[data-do="read"]', signal, () => finish(kind));
    signal.addEventListener('abort', () => prompts.hush());
    if (kind === 'emergency') prompts.say(person.id, 'call-now');
    speakClinicKnowledge(parts, person.id, signal);
  });
}
