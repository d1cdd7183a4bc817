import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import type { NotTodayReason } from '../../listening/report.js';
import { onPress, requireElement, writeText } from './dom.js';
import type { Parts } from './parts.js';
import { notTodayItem } from './reports.js';

/** Postpones a session with a reason, which is reported to the clinic. */
export function showNotToday(
  { views, words, day, courier }: Parts,
  { person, session }: { person: PlannedPerson; session: PlannedSession },
): Promise<'told' | 'left'> {
  return views.run<'told' | 'left'>('not-today', { back: () => 'left' }, ({ element, signal, finish }) => {
    const form = requireElement<HTMLFormElement>(element, 'form');
    form.reset();
    writeText(element, 'problem', '');
    writeText(element, 'title', session.title);
    // For some reasons the listener should call; the advice is shown next to them.
    const showAdvice = () => {
      const reason = new FormData(form).get('reason');
      for (const advice of element.querySelectorAll<HTMLElement>('[data-advice]'))
        advice.hidden = advice.dataset.advice !== reason;
    };
    showAdvice();
    form.addEventListener('change', showAdvice, { signal });
    form.addEventListener(
      'submit',
      (event) => {
        event.preventDefault();
        const reason = new FormData(form).get('reason');
        if (reason === null) return writeText(element, 'problem', words.say('choose-reason'));
        // The form offers only reasons that the service knows.
        courier.tell(notTodayItem({ personId: person.id, session }, reason as NotTodayReason));
        day.mark(person, session, 'skipped');
        if (reason === 'pain' || reason === 'unwell') day.noteUnwell(person);
        finish('told');
      },
      { signal },
    );
    onPress(element, '[data-do="leave"]', signal, () => finish('left'));
  });
}
