import { type Pace, pathAt, placeIn, shareAt } from './way.js';

/** Moves what a figure draws to where it is at a share of its way. */
function moveTo(figure: Element, share: number): void {
  for (const stroke of figure.querySelectorAll('[data-steps]'))
    stroke.setAttribute('d', pathAt(listIn(stroke, 'data-steps'), share));
  for (const stroke of figure.querySelectorAll('[data-classes]')) {
    const { before, after, between } = placeIn(listIn(stroke, 'data-classes'), share);
    stroke.setAttribute('class', between < 0.5 ? before : after);
  }
}

/** Often enough for something so slow, and little work for an old phone. */
const drawsEveryMs = 60;

/** Lets a figure go at its pace for as long as it is wanted; a pause holds it where it is. */
export function runMotion(
  figure: Element,
  pace: Pace,
  { signal, isGoing }: { signal: AbortSignal; isGoing: () => boolean },
): void {
  let goneMs = 0;
  let drawnAtMs = performance.now();
  const timer = setInterval(() => {
    const sinceMs = performance.now() - drawnAtMs;
    drawnAtMs += sinceMs;
    if (!isGoing()) return;
    // Where the page was out of sight, no time has gone by.
    goneMs += Math.min(sinceMs, 4 * drawsEveryMs);
    moveTo(figure, shareAt(pace, goneMs));
  }, drawsEveryMs);
  signal.addEventListener('abort', () => clearInterval(timer));
}

function listIn(element: Element, name: string): string[] {
  return (element.getAttribute(name) ?? '').split(';');
}
