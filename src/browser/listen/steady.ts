/**
 * A hand that trembles touches twice, most often 120 to 350 ms apart, and the second touch lands on what the first one
 * brought up. So for a while after a change of view nothing counts but what must always work: to stop and to call. Our
 * choice of numbers; no published source.
 */
const steadyAfterMs = 700;
/** Whoever goes on touching is still trembling: the next touch counts after as long a pause. */
const calmAfterMs = 400;
/** A click that comes later after a finger than this is not that finger's. */
const longestTouchMs = 3_000;
/** To stop, to say that something is wrong, and to call. */
const always = 'a[href^="tel:"], [data-do="stop"], [data-do="wrong"]';
const keysThatStop = ['s', 'S', 'Escape'];

let changedAtMs = Number.NEGATIVE_INFINITY;
let ignoredAtMs = Number.NEGATIVE_INFINITY;
let pressedAtMs = Number.NEGATIVE_INFINITY;

/** Something else lies under the finger now. */
export function markViewChange(): void {
  changedAtMs = performance.now();
}

/** Whether a press comes too soon after a change of view to be meant. It is then as if it had not been. */
export function isTooSoon(event: Event): boolean {
  const beganAtMs = beganAt(event);
  const isSoon = beganAtMs - changedAtMs < steadyAfterMs || beganAtMs - ignoredAtMs < calmAfterMs;
  if (isSoon) ignoredAtMs = momentOf(event);
  return isSoon;
}

/** Whether a key means "stop", which always counts. */
export function isKeyToStop({ key }: KeyboardEvent): boolean {
  return keysThatStop.includes(key);
}

/** Lets no press of a control count that comes too soon, however it comes: by finger, key or screen reader. */
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
  // A key that is held down presses a button again and again.
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

/** A touch counts from when the finger came down. A key or a screen reader only clicks. */
function beganAt(event: Event): number {
  const nowMs = momentOf(event);
  const isByFinger = event instanceof MouseEvent && event.detail > 0;
  const isLifted = event.type === 'pointerup';
  return (isByFinger || isLifted) && nowMs - pressedAtMs < longestTouchMs ? pressedAtMs : nowMs;
}

/** An event may have waited while the page was busy, but not for longer. */
const longestWaitMs = 1_000;

/** When an event came, on the clock of `performance.now`: some older browsers stamp events by another one. */
function momentOf({ timeStamp }: Event): number {
  const nowMs = performance.now();
  const waitedMs = nowMs - timeStamp;
  return waitedMs > 0 && waitedMs <= longestWaitMs ? timeStamp : nowMs;
}
