import { isKeyToStop, isTooSoon } from './steady.js';

/** A finger that stays down this long is a long press. */
const longPressMs = 1_200;
/** A touch sooner than this after another is the same touch by a trembling hand. */
const sameTouchMs = 400;
/**
 * When a touch last counted, in any view, because the browser's click after it, and a trembling hand, can land on the
 * next view.
 */
let touchedAt = Number.NEGATIVE_INFINITY;

export type TouchActions = {
  /** Called for a touch anywhere, or a press of the area's own button by keyboard or screen reader. */
  onTouch(): void;
  onLongPress(): void;
};

/**
 * Makes a whole area one button. A touch counts when the finger lifts, however far it has slid, because eyes are closed
 * and hands may tremble. Other controls inside the area keep working.
 */
export function makeOneButton(
  area: HTMLElement,
  signal: AbortSignal,
  { onTouch, onLongPress }: TouchActions,
): void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  let isDown = false;

  const touch = (event: Event) => {
    const isSame = event.timeStamp - touchedAt < sameTouchMs;
    // However often the hand trembles, it is one touch.
    touchedAt = event.timeStamp;
    if (!isSame && !isTooSoon(event)) onTouch();
  };
  const release = () => {
    clearTimeout(timer);
    isDown = false;
    area.classList.remove('is-pressed');
  };
  area.addEventListener(
    'pointerdown',
    (event) => {
      if (!event.isPrimary || event.button !== 0 || isOtherControl(area, event.target)) return;
      isDown = true;
      area.classList.add('is-pressed');
      timer = setTimeout(() => {
        release();
        swallowClick({ isLifted: false });
        onLongPress();
      }, longPressMs);
    },
    { signal },
  );
  // The finger may have slid off the area.
  window.addEventListener(
    'pointerup',
    (event) => {
      if (!isDown || !event.isPrimary) return;
      release();
      swallowClick({ isLifted: true });
      touch(event);
    },
    { signal },
  );
  window.addEventListener('pointercancel', release, { signal });
  // A keyboard or a screen reader sends only a click.
  area.addEventListener(
    'click',
    (event) => {
      if (!isOtherControl(area, event.target)) touch(event);
    },
    { signal },
  );
  area.addEventListener('contextmenu', (event) => event.preventDefault(), { signal });
  signal.addEventListener('abort', release);
}

/**
 * Swallows the click that a browser sends after a touch that was already handled. By then another view may be under the
 * finger, and its buttons must not react to it.
 *
 * @param isLifted whether the finger has already lifted; after a long press it may lift at any time
 */
function swallowClick({ isLifted }: { isLifted: boolean }): void {
  const over = new AbortController();
  const { signal } = over;
  const end = () => {
    setTimeout(() => over.abort(), sameTouchMs);
  };
  window.addEventListener(
    'click',
    (event) => {
      event.preventDefault();
      event.stopImmediatePropagation();
      over.abort();
    },
    { signal, capture: true },
  );
  window.addEventListener('pointerdown', () => over.abort(), { signal, capture: true });
  for (const lifted of ['pointerup', 'pointercancel'])
    window.addEventListener(lifted, end, { signal, capture: true });
  if (isLifted) end();
}

function isOtherControl(area: HTMLElement, target: EventTarget | null): boolean {
  if (!(target instanceof Element)) return false;
  const control = target.closest('button, a, input, label, summary');
  return control !== null && area.contains(control) && !control.hasAttribute('data-one-button');
}

const keysOfTheSystem = ['Tab', 'Shift', 'Control', 'Alt', 'AltGraph', 'Meta', 'CapsLock'];

/** Sets what keys do in a view, with `any` for all others. A key that is held down counts once. */
export function onKeys(
  signal: AbortSignal,
  area: HTMLElement,
  actions: Readonly<Record<string, () => void>>,
): void {
  const isForUs = (event: KeyboardEvent) => {
    // Other controls in the view handle their own keys first.
    const isElsewhere = document.activeElement !== document.body && !area.contains(document.activeElement);
    return (
      !isElsewhere && !isOtherControl(area, event.target) && !event.ctrlKey && !event.altKey && !event.metaKey
    );
  };
  document.addEventListener(
    'keydown',
    (event) => {
      const any = keysOfTheSystem.includes(event.key) ? undefined : actions.any;
      const act = actions[event.key] ?? actions[event.key.toLowerCase()] ?? any;
      if (act === undefined || area.hidden || !isForUs(event)) return;
      event.preventDefault();
      if (!event.repeat && (isKeyToStop(event) || !isTooSoon(event))) act();
    },
    { signal },
  );
  document.addEventListener(
    'keyup',
    (event) => {
      // Some browsers click a focused button when the space bar is released.
      if (event.key === ' ' && actions[' '] !== undefined && !area.hidden && isForUs(event))
        event.preventDefault();
    },
    { signal },
  );
}
