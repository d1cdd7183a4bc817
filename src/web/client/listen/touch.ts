/** A finger that stays this long means something else than a touch. */
const longPressMs = 1_200;
/** What comes sooner after a touch is the same touch: a hand that trembles. */
const sameTouchMs = 400;

export type TouchActions = {
  /** A touch anywhere, or a press of the area's own button by keyboard or screen reader. */
  onTouch(): void;
  onLongPress(): void;
};

/**
 * Makes a whole area one button. A touch counts when the finger leaves, however far it slid: eyes are closed and
 * hands may tremble. Other controls inside the area keep working by themselves.
 */
export function makeOneButton(
  area: HTMLElement,
  signal: AbortSignal,
  { onTouch, onLongPress }: TouchActions,
): void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  let isDown = false;
  /** The click that follows a long press is part of it. */
  let wasLong = false;
  let handledAt = Number.NEGATIVE_INFINITY;

  const act = (atMs: number, what: () => void) => {
    if (atMs - handledAt < sameTouchMs) return;
    handledAt = atMs;
    what();
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
      wasLong = false;
      area.classList.add('is-pressed');
      timer = setTimeout(() => {
        release();
        wasLong = true;
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
      act(event.timeStamp, onTouch);
    },
    { signal },
  );
  window.addEventListener('pointercancel', release, { signal });
  area.addEventListener(
    'click',
    (event) => {
      // A pointer's click has been handled when it was lifted; a keyboard or a screen reader only clicks.
      if (wasLong || isOtherControl(area, event.target)) return;
      act(event.timeStamp, onTouch);
    },
    { signal },
  );
  area.addEventListener('contextmenu', (event) => event.preventDefault(), { signal });
  signal.addEventListener('abort', release);
}

function isOtherControl(area: HTMLElement, target: EventTarget | null): boolean {
  if (!(target instanceof Element)) return false;
  const control = target.closest('button, a, input, label, summary');
  return control !== null && area.contains(control) && !control.hasAttribute('data-one-button');
}

const keysOfTheSystem = ['Tab', 'Shift', 'Control', 'Alt', 'AltGraph', 'Meta', 'CapsLock'];

/** What keys do in a view, `any` for all others; a key that is held down counts once. */
export function onKeys(
  signal: AbortSignal,
  area: HTMLElement,
  actions: Readonly<Record<string, () => void>>,
): void {
  const isForUs = (event: KeyboardEvent) => {
    // Other controls in the view hear their own keys first.
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
      if (!event.repeat) act();
    },
    { signal },
  );
  document.addEventListener(
    'keyup',
    (event) => {
      // Some browsers click a focused button when the space bar comes up again.
      if (event.key === ' ' && actions[' '] !== undefined && !area.hidden && isForUs(event))
        event.preventDefault();
    },
    { signal },
  );
}
