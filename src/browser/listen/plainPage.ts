import { requireElement } from './dom.js';

/**
 * Waits until no one uses the page as it stood before this script: a script that comes late takes nothing away from
 * someone who listens or writes there. They are shown a way to the full page.
 *
 * @throws RangeError where this browser lacks what the full page rests on
 */
export async function waitUntilPlainPageIdle(): Promise<void> {
  if (!endsListeners()) throw new RangeError('this browser is too old for the full page');
  const plain = requireElement(document, '[data-plain]');
  if (!isUsed(plain)) return;
  requireElement(plain, '[data-plain-on]').hidden = false;
  await new Promise<void>((resolve) => {
    requireElement(plain, '[data-do="full-page"]').addEventListener('click', () => resolve(), { once: true });
  });
  hush(plain);
}

/** Shows the page as it stood before this script again: something went wrong that should not have. */
export function showPlainPage(): void {
  hush(document);
  for (const view of document.querySelectorAll<HTMLElement>('[data-view]')) view.hidden = true;
  // The style sheet shows the plain page as long as no view is.
  delete document.body.dataset.shows;
}

function isUsed(plain: HTMLElement): boolean {
  const sounds = [...plain.querySelectorAll('audio')];
  return sounds.some(({ paused }) => !paused) || plain.querySelector('details[open]') !== null;
}

function hush(area: ParentNode): void {
  for (const sound of area.querySelectorAll('audio')) sound.pause();
}

/** Whether listeners end with a signal; in Safari before 15 they never would (MDN). */
function endsListeners(): boolean {
  let isAsked = false;
  const { signal } = new AbortController();
  const asks: AddEventListenerOptions = {
    get signal() {
      isAsked = true;
      return signal;
    },
  };
  const nothing = () => undefined;
  document.addEventListener('none', nothing, asks);
  document.removeEventListener('none', nothing);
  return isAsked;
}
