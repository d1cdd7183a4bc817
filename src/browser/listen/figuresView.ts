import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import { copyOf, onPress, requireElement, writeText } from './dom.js';
import { runMotion } from './motion.js';
import type { Parts } from './parts.js';
import { writePatientLabel } from './patientLabel.js';
import { paceFrom } from './way.js';

/** Before the start: how the patient lies, and each exercise by itself for someone who helps. */
export function showFigures(
  parts: Parts,
  { person, session }: { person: PlannedPerson; session: PlannedSession },
): Promise<void> {
  const { views, words, figures } = parts;
  return views.run<void>('figures', { back: () => undefined }, ({ element, signal, finish }) => {
    const place = requireElement(element, '[data-figures]');
    place.replaceChildren();
    writePatientLabel(parts, element, person);
    writeText(element, 'title', session.title);
    writeText(element, 'state', words.say('figures-wait'));
    onPress(element, '[data-do="leave"]', signal, () => finish());
    show();

    async function show(): Promise<void> {
      const found = await figures.of(session);
      if (signal.aborted) return;
      writeText(element, 'state', found === null ? words.say('figures-away') : '');
      if (found === null) return;
      place.replaceChildren(document.importNode(found.lying, true), document.importNode(found.each, true));
      const exercises = [...place.querySelectorAll<HTMLDetailsElement>('details')];
      const shows = exercises.map((exercise) =>
        letMove(parts, exercise, { signal, onChange: () => showAll() }),
      );
      const showAll = () => {
        for (const show of shows) show();
      };
    }
  });
}

/**
 * A figure that moves while it is looked at, and a button that holds it still, and with it all others.
 *
 * @returns shows what holds now
 */
function letMove(
  { words, figures }: Parts,
  exercise: HTMLDetailsElement,
  { signal, onChange }: { signal: AbortSignal; onChange: () => void },
): () => void {
  const moving = exercise.querySelector<HTMLElement>('[data-moving]');
  const pace = paceFrom(moving?.dataset.moving);
  if (moving === null || pace === null) return () => undefined;
  const button = copyOf('motion');
  moving.append(button);
  let motion = new AbortController();
  const show = () => {
    motion.abort();
    motion = new AbortController();
    // Held still, it is one of the pictures that follow.
    moving.toggleAttribute('data-is-still', !figures.areMoving);
    moving.hidden = false;
    button.textContent = words.say(figures.areMoving ? 'motion-still' : 'motion-moving');
    if (exercise.open && figures.areMoving)
      runMotion(moving, pace, { signal: motion.signal, isGoing: () => true });
  };
  button.addEventListener('click', () => {
    figures.areMoving = !figures.areMoving;
    onChange();
  });
  exercise.addEventListener('toggle', show, { signal });
  signal.addEventListener('abort', () => motion.abort());
  show();
  return show;
}
