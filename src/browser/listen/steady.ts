/**
 * A trembling hand touches twice, usually 120 to 350 ms apart, and the second touch lands on whatever the first one
 * opened. For a short time after a change of view, therefore, only the controls that must always work count: stop and
 * call. The numbers are our choice; no published source.
 */
const steadyAfterMs = 700;
/** While touches keep coming, the hand is still trembling; the next touch counts only after a pause this long. */
const calmAfterMs = 400;
/** A click later than this after a finger came down does not belong to that touch. */
const longestTouchMs = 3_000;
/** The controls that always count: stop, "something is wrong", and call. */
const always = 'a[href^="tel:"], [data-do="stop"], [data-do="wrong"]';
const keysThatStop = ['s', 'S', 'Escape'];

let changedAtMs = Number.NEGATIVE_INFINITY;
let ignoredAtMs = Number.NEGATIVE_INFINITY;
let pressedAtMs = Number.NEGATIVE_INFINITY;

/** Records that something else is under the finger now. */
export function markViewChange(): void {
  changedAtMs = performance.now();
}

/** Returns whether a press comes too soon after a change of view to be intended; it is then ignored. */
export function isTooSoon(event: Event): boolean {
  const beganAtMs = beganAt(event);
  const isSoon = beganAtMs - changedAtMs < steadyAfterMs || beganAtMs - ignoredAtMs < calmAfterMs;
  if (isSoon) ignoredAtMs = momentOf(event);
  return isSoon;
}

/** Returns whether a key means "stop", which always counts. */
export function isKeyToStop({ key }: KeyboardEvent): boolean {
  return keysThatStop.includes(key);
}

/** Ignores every press of a control that comes too soon, whether by finger, key or screen reader. */
export function guardAgainstTrembling(): void {
  const first = { capture: true };
  window.addEventListener(
    'pointerdown',
    (event) => {
      pressedAtMs = momentOf(event);
    },
    first,
  );
  window.addEventListener(
    'click',
    (event) => {
      const isAlways = event.target instanceof Element && event.target.closest(always) !== null;
      if (isAlways || !isTooSoon(event)) return;
      event.preventDefault();
      event.stopImmediatePropagation();
    },
    first,
  );
  // A key that is held down presses a button repeatedly.
  window.addEventListener(
    'keydown',
    (event) => {
      const isControl =
        event.target instanceof Element && event.target.closest('button, a, summary') !== null;
      if (event.repeat && isControl && (event.key === 'Enter' || event.key === ' ')) event.preventDefault();
    },
    first,
  );
}

/** Returns when a press began. A touch begins when the finger comes down; a key or a screen reader only clicks. */
function beganAt(event: Event): number {
  const nowMs = momentOf(event);
  const isByFinger = event instanceof MouseEvent && event.detail > 0;
  const isLifted = event.type === 'pointerup';
  return (isByFinger || isLifted) && nowMs - pressedAtMs < longestTouchMs ? pressedAtMs : nowMs;
}

/** The longest an event can have waited while the page was busy. */
const longestWaitMs = 1_000;

/**
 * Returns when an event occurred, on the clock of `performance.now`, because some older browsers use another clock for
 * events.
 */
function momentOf({ timeStamp }: Event): number {
  const nowMs = performance.now();
  const waitedMs = nowMs - timeStamp;
  return waitedMs > 0 && waitedMs <= longestWaitMs ? timeStamp : nowMs;
}
