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

/** While paused, the screen stays on only this long, because the listener may have left. */
const screenStaysOnMs = 10 * 60_000;
const sayPausedAfterMs = 3_000;

/**
 * `ended`: played to the end or stopped early; the questions follow. `warned`: a warning sign was reported. `gone`: the
 * clinic changed or ended the program in the meantime.
 */
export type Played = 'ended' | 'warned' | 'gone' | 'left';

/** Plays a session; the whole screen is its one control. */
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
      // Now that the sound plays, fetch the rest too, before the network can be lost.
      if (state === 'playing') parts.keeping.goOn(session.audio, session.session);
      pictures.play(state === 'playing');
      if (state === 'ended') finish('ended');
    };
    const onLost = async () => {
      const fault = await faultOf(session.audio);
      // The listener may have touched, stopped or left it in the meantime.
      if (signal.aborted || player.state !== 'trouble' || views.current !== 'player') return;
      // The message for this is spoken after the view has closed.
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
      // A listener who paused it with eyes closed hears that it is paused. A phone call that paused it is not talked
      // over.
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
