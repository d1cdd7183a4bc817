import type { PlannedSession, PlayedSession } from '../../listening/plan.js';
import { requireElement, writeText } from './dom.js';
import { figuresOfChapter, type SessionFigures } from './figures.js';
import { lastOf } from './lists.js';
import { runMotion } from './motion.js';
import type { Parts } from './parts.js';
import { paceFrom } from './way.js';

/** The figures of now and of next beside a session that plays, for someone who helps. */
export type NowAndNext = {
  /** Which chapter is heard, and which side is worked on. */
  show(chapter: number, side: 'left' | 'right' | null): void;
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
  let shownSide: 'left' | 'right' | null = null;
  let motion = new AbortController();

  const titleOf = (chapter: number) => played.chapters[chapter]?.title ?? '';
  const exerciseAt = (chapter: number) =>
    found === null ? null : figuresOfChapter(found, { index: chapter, title: titleOf(chapter) });

  const draw = () => {
    motion.abort();
    motion = new AbortController();
    if (found === null) return;
    const [exercise, following] = [exerciseAt(shown), exerciseAt(shown + 1)];
    const now = shown === 0 ? found.lying : drawnIn(exercise, shownSide);
    // Where both sides have their turn, the left one is first.
    const next = drawnIn(following, 'left');
    const moving = now?.querySelector<HTMLElement>('[data-moving]') ?? null;
    // On a patient's own phone all that a blind touch may meet is one button: nothing moves that would need another.
    const pace = isWatched ? paceFrom(moving?.dataset.moving) : null;
    block.hidden = shown > 0 && exercise === null && following === null;
    writeText(element, 'below', block.hidden || isWatched ? '' : words.say('figures-below'));
    writeText(block, 'now', words.say(shown === 0 ? 'figures-lie' : 'figures-now'));
    writeText(block, 'none', isWithoutFigure(exercise) ? words.say('figures-none') : '');
    const nextName = titleOf(shown + 1);
    writeText(block, 'next', nextName === '' ? '' : words.say('figures-next', { name: nextName }));
    const said = saidOf(now);
    writeText(element, 'said', said === '' || !isWatched ? said : words.say('figures-said', { said }));
    const isMoving = figures.areMoving && moving !== null && pace !== null;
    const nowPlace = requireElement(block, '[data-now]');
    nowPlace.replaceChildren(
      ...(isMoving ? picturesIn(moving.parentElement, '[data-moving]') : posesOf(now)),
    );
    requireElement(block, '[data-next]').replaceChildren(...posesOf(next));
    button.hidden = pace === null;
    button.textContent = words.say(isMoving ? 'motion-still' : 'motion-moving');
    if (isMoving) runMotion(nowPlace, pace, { signal: motion.signal, isGoing: () => isPlaying });
  };
  const ask = async () => {
    isAsked = true;
    found = await figures.of(session);
    if (!signal.aborted) draw();
  };

  block.hidden = true;
  button.hidden = true;
  writeText(element, 'below', '');
  writeText(element, 'said', '');
  // Someone who helps looks at the screen. A patient with eyes closed touches it anywhere: there, pictures are below.
  if (isWatched) requireElement(element, '.touch').before(block);
  else {
    requireElement(element, '.first-screen').after(block);
    requireElement(block, '[data-now]').after(requireElement(element, '.said'));
  }
  button.addEventListener(
    'click',
    ({ detail }) => {
      figures.areMoving = !figures.areMoving;
      draw();
      // Whoever pressed it with a finger goes on as before: keys pause and stop the session.
      if (detail > 0) button.blur();
    },
    { signal },
  );
  signal.addEventListener('abort', () => motion.abort());
  return {
    show(chapter, side) {
      if (chapter === shown && side === shownSide) return;
      shown = chapter;
      shownSide = side;
      draw();
    },
    play(isNow) {
      isPlaying = isNow;
      if (isNow && !isAsked) ask();
    },
  };
}

/** What is drawn of an exercise, for a side where both have their turn. */
function drawnIn(exercise: HTMLElement | null, side: 'left' | 'right' | null): HTMLElement | null {
  const left = side === 'left' ? exercise?.querySelector<HTMLElement>('[data-left]') : null;
  return left ?? exercise?.querySelector<HTMLElement>('[data-drawn]') ?? null;
}

/** What is seen in the last pose. */
function saidOf(drawn: HTMLElement | null): string {
  return lastOf([...(drawn?.querySelectorAll('[data-said]') ?? [])])?.textContent ?? '';
}

function posesOf(exercise: HTMLElement | null): Node[] {
  return picturesIn(exercise, '.pose:not([data-moving])');
}

/** Copies of the pictures alone, without their words. */
function picturesIn(area: HTMLElement | null, frame: string): Node[] {
  return [...(area?.querySelectorAll(`${frame} > svg`) ?? [])].map((svg) => document.importNode(svg, true));
}

function isWithoutFigure(exercise: HTMLElement | null): boolean {
  return exercise !== null && exercise.querySelector('[data-no-figure]') !== null;
}
