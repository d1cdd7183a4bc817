import { onPress } from './dom.js';
import type { Parts } from './parts.js';

/**
 * What to do about the chosen warning signs, the most urgent first, as the page's template has it; with none chosen,
 * what holds always.
 */
export function giveAdvice({ views }: Parts, signs: readonly string[]): Promise<'read'> {
  return views.run<'read'>('advice', { back: () => 'read' }, ({ element, signal, finish }) => {
    for (const advice of element.querySelectorAll<HTMLElement>('[data-sign]'))
      advice.hidden = !signs.includes(advice.dataset.sign ?? '');
    const isEmergency = [...element.querySelectorAll<HTMLElement>('[data-emergency]')].some(
      ({ hidden }) => !hidden,
    );
    element.toggleAttribute('data-is-emergency', isEmergency);
    onPress(element, '[data-do="read"]', signal, () => finish('read'));
  });
}
