import type { PlannedSession, PlayedSession } from '../../listening/plan.js';
import { onPress, requireElement, writeText } from './dom.js';
import { figuresOfChapter, type SessionFigures } from './figures.js';
import { paceFrom, runMotion } from './motion.js';
import type { Parts } from './parts.js';

/** The figures of now and of next beside a session that plays, for someone who helps. */
export type NowAndNext = {
  /** Another chapter is heard. */
  show(chapter: number): void;
  /** Whether the session plays: only then does a figure move. */
  play(isPlaying: boolean): void;
};

/**
 * Shows which exercise is done now and which comes next. They are fetched once the sound is heard, and change with its
 * chapters; without them the player is as it is.
 */
export function showNowAndNext(
  parts: Parts,
  { element, signal }: { element: HTMLElement; signal: AbortSignal },
  { session, played }: { session: PlannedSession; played: PlayedSession },
): NowAndNext {
  const { words, figures } = parts;
  const isWatched = parts.plans.plan.isCaregiver;
  const block = requireElement(element, '[data-now-next]');
  const button = requireElement(element, '[data-do="motion"]');
  let found: SessionFigures | null = null;
  let isAsked = false;
  let isPlaying = false;
  let shown = -1;
  let motion = new AbortController();

  const titleOf = (chapter: number) => played.chapters[chapter]?.title ?? '';
  const exerciseAt = (chapter: number) =>
    found === null ? null : figuresOfChapter(found, { index: chapter, title: titleOf(chapter) });

  const draw = () => {
    motion.abort();
    motion = new AbortController();
    if (found === null) return;
    const now = shown === 0 ? found.lying : exerciseAt(shown);
    const next = exerciseAt(shown + 1);
    block.hidden = now === null && next === null;
    writeText(element, 'below', block.hidden || isWatched ? '' : words.say('figures-below'));
    writeText(block, 'now', shown === 0 ? words.say('figures-lie') : words.say('figures-now'));
    writeText(block, 'next', next === null ? '' : words.say('figures-next', { name: titleOf(shown + 1) }));
    const canMove = putFigures(requireElement(block, '[data-now]'), now, figures.areMoving);
    putFigures(requireElement(block, '[data-next]'), next, false);
    writeText(block, 'none', isWithoutFigure(now) ? words.say('figures-none') : '');
    button.hidden = !canMove;
    button.textContent = words.say(figures.areMoving ? 'motion-still' : 'motion-moving');
    const moving = block.querySelector<HTMLElement>('[data-moving]');
    const pace = paceFrom(moving?.dataset.moving);
    if (moving !== null && pace !== null)
      runMotion(moving, pace, { signal: motion.signal, isGoing: () => isPlaying });
  };
  const ask = async () => {
    isAsked = true;
    found = await figures.of(session);
    if (!signal.aborted) draw();
  };

  block.hidden = true;
  button.hidden = true;
  writeText(element, 'below', '');
  // Someone who helps looks at the screen. A patient with eyes closed touches it anywhere: there, pictures are below.
  if (isWatched) requireElement(element, '.touch').before(block);
  else button.before(block);
  onPress(element, '[data-do="motion"]', signal, () => {
    figures.areMoving = !figures.areMoving;
    draw();
  });
  signal.addEventListener('abort', () => motion.abort());
  return {
    show(chapter) {
      if (chapter === shown) return;
      shown = chapter;
      draw();
    },
    play(isNow) {
      isPlaying = isNow;
      if (isNow && !isAsked) ask();
    },
  };
}

/**
 * Puts copies of an exercise's pictures in a place: the one that moves, or its poses.
 *
 * @returns whether there is one that moves
 */
function putFigures(place: HTMLElement, from: HTMLElement | null, isMoving: boolean): boolean {
  const moving = from?.querySelector('[data-moving]') ?? null;
  const shown = isMoving && moving !== null ? [moving] : [...(from?.querySelectorAll('.pose > svg') ?? [])];
  const copies = shown.map((figure) => document.importNode(figure, true));
  for (const copy of copies) copy.removeAttribute('hidden');
  place.replaceChildren(...copies);
  return moving !== null;
}

function isWithoutFigure(exercise: HTMLElement | null): boolean {
  return exercise !== null && exercise.querySelector('[data-no-figure]') !== null;
}
