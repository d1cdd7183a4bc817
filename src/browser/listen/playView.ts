import type { PlayedSession } from '../../listening/plan.js';
import { minuteMs } from '../../time/units.js';
import { onPress, writeText } from './dom.js';
import { faultOf, speakFault } from './faults.js';
import type { Listening } from './listening.js';
import { showNowAndNext } from './nowAndNext.js';
import type { Parts } from './parts.js';
import { writePatientLabel } from './patientLabel.js';
import type { PlayerState } from './player.js';
import { chapterAt, sideAt } from './resume.js';
import { showStop } from './stopView.js';
import { makeOneButton, onKeys } from './touch.js';

/** A screen that waits for someone who has gone need not stay on. */
const screenStaysOnMs = 10 * 60_000;
const sayPausedAfterMs = 3_000;

/**
 * `ended`: heard to its end, or ended on the way; the questions follow. `warned`: a warning sign was told. `gone`: the
 * clinic changed or ended the program in the meantime.
 */
export type Played = 'ended' | 'warned' | 'gone' | 'left';

/** Plays a session; the whole screen is the one control. */
export function playSession(
  parts: Parts,
  { listening, played }: { listening: Listening; played: PlayedSession },
): Promise<Played> {
  const { views, words, player, controls, prompts, wake } = parts;
  let screenTimer: ReturnType<typeof setTimeout> | undefined;
  let sayTimer: ReturnType<typeof setTimeout> | undefined;

  return views.run<Played>('player', { back: () => 'left' }, ({ element, signal, finish }) => {
    const { person, session } = listening;
    const pictures = showNowAndNext(parts, { element, signal }, { session, played });

    const stop = async () => {
      player.pause();
      prompts.hush();
      switch (await showStop(parts, listening)) {
        case 'go-on':
          return player.goOn();
        case 'end':
          return finish('ended');
        case 'warned':
          return finish('warned');
      }
    };
    const show = (state: PlayerState) => {
      element.dataset.state = state;
      writeText(element, 'state', words.say(`player-${state}`));
      writeText(
        element,
        'toggle',
        words.say(state === 'playing' || state === 'starting' ? 'pause' : 'go-on'),
      );
      controls.tellState(state === 'playing' || state === 'starting' ? 'playing' : 'paused');
      clearTimeout(screenTimer);
      clearTimeout(sayTimer);
      wake.want(true);
      if (state === 'paused' || state === 'trouble')
        screenTimer = setTimeout(() => wake.want(false), screenStaysOnMs);
      if (state !== 'starting') prompts.hush();
      if (state === 'paused') parts.announce(words.say('player-paused'));
      // Now that it is heard, what is still to come is fetched too, before a network can be lost.
      if (state === 'playing') parts.keeping.goOn(session.audio, session.session);
      pictures.play(state === 'playing');
      if (state === 'ended') finish('ended');
    };
    const onLost = async () => {
      const fault = await faultOf(session.audio);
      // Meanwhile someone may have touched it, stopped it or left.
      if (signal.aborted || player.state !== 'trouble' || views.current !== 'player') return;
      // What is to be heard then is said when this view has gone.
      if (fault === 'program-changed') return finish('gone');
      await speakFault(parts, person.id, fault);
    };
    const showPosition = (positionMs: number) => {
      const chapter = chapterAt(played.chapters, positionMs);
      const title = played.chapters[chapter]?.title ?? session.title;
      const minutes = Math.ceil((played.durationMs - positionMs) / minuteMs);
      if (element.dataset.chapter !== title) {
        element.dataset.chapter = title;
        controls.describe({ title, session: session.title, clinic: parts.plans.plan.clinic.name });
      }
      writeText(element, 'chapter', title);
      pictures.show(chapter, sideAt(played, positionMs));
      writeText(element, 'left', words.count('minutes-left', Math.max(1, minutes)));
      controls.tellPosition(played, positionMs);
    };

    writePatientLabel(parts, element, person);
    delete element.dataset.chapter;
    player.open(
      { audio: session.audio, played, leftAtMs: listening.leftAtMs },
      {
        onState: show,
        onStep: (step, positionMs) => listening.step(step, positionMs),
        onPosition: (positionMs) => {
          listening.moved(positionMs);
          showPosition(positionMs);
        },
        say: (key) => prompts.say(person.id, key),
        onWaiting: () => void prompts.say(person.id, 'one-moment'),
        onLost,
      },
    );
    showPosition(player.positionMs);

    const toggle = () => {
      player.toggle();
      // Whoever paused it with eyes closed hears that it is paused. A call that paused it is not talked into.
      if (player.state === 'paused')
        sayTimer = setTimeout(() => prompts.say(person.id, 'paused'), sayPausedAfterMs);
    };
    const [next, previous] = [() => player.next(), () => player.previous()];
    makeOneButton(element, signal, { onTouch: toggle, onLongPress: stop });
    onPress(element, '[data-do="stop"]', signal, stop);
    onPress(element, '[data-do="end"]', signal, () => {
      player.pause();
      listening.stop();
      finish('ended');
    });
    onKeys(signal, element, {
      ' ': toggle,
      Enter: toggle,
      ArrowRight: next,
      ArrowLeft: previous,
      ArrowUp: () => parts.volume.change(1),
      ArrowDown: () => parts.volume.change(-1),
      s: stop,
      Escape: stop,
    });
    controls.give({
      play: () => player.goOn(),
      pause: () => player.pause(),
      next,
      previous,
      seek: (toMs) => player.seek(toMs),
    });
    window.addEventListener('pagehide', () => player.tellReached(), { signal });
    signal.addEventListener('abort', () => {
      clearTimeout(screenTimer);
      clearTimeout(sayTimer);
      player.pause();
      player.close();
      prompts.hush();
      controls.give(null);
    });
    player.goOn();
  });
}
