import { requireElement } from './dom.js';

/**
 * Waits until nobody is using the plain page that was there before this script, so that a script that loads late does
 * not interrupt someone who is listening or writing there. They see a link to the full page.
 *
 * @throws RangeError where this browser lacks a feature that the full page needs
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

/** Shows the plain page again, after an unexpected error. */
export function showPlainPage(): void {
  hush(document);
  for (const view of document.querySelectorAll<HTMLElement>('[data-view]')) view.hidden = true;
  // The style sheet shows the plain page while no view is shown.
  delete document.body.dataset.shows;
}

function isUsed(plain: HTMLElement): boolean {
  const sounds = [...plain.querySelectorAll('audio')];
  return sounds.some(({ paused }) => !paused) || plain.querySelector('details[open]') !== null;
}

function hush(area: ParentNode): void {
  for (const sound of area.querySelectorAll('audio')) sound.pause();
}

/** Returns whether event listeners end with an abort signal; in Safari before 15 they do not (MDN). */
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
