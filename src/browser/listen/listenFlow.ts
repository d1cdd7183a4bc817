import type { PlannedPerson, PlannedSession, PlayedSession } from '../../listening/plan.js';
import { askQuestions, runCheckIn } from './checkInView.js';
import { onPress, writeText } from './dom.js';
import { faultOf, speakFault } from './faults.js';
import { newId } from './ids.js';
import { fetchPlayedSession, Listening } from './listening.js';
import type { Parts } from './parts.js';
import type { Place } from './place.js';
import { playSession } from './playView.js';
import { showFirstCheck, showWelcome } from './readyViews.js';
import { showStop } from './stopView.js';
import { makeOneButton } from './touch.js';

const showsWaitAfterMs = 300;
/** After this time, a listener waiting with eyes closed hears that loading continues. */
const saysWaitAfterMs = 6_000;

export type ToListen = {
  person: PlannedPerson;
  session: PlannedSession;
  /** Where it was left on this phone, to resume from there. */
  place: Place | null;
  /** Whether the voice was already heard calling to this session. */
  isWelcomed: boolean;
};

/**
 * Runs one listening, from the touch that starts it to its last answer.
 *
 * @returns `gone` when the clinic changed or ended the program in the meantime
 */
export async function runListening(parts: Parts, toListen: ToListen): Promise<'over' | 'gone'> {
  const how = await listenThrough(parts, toListen);
  // Not awaited, because the first view already shows what there is instead.
  if (how === 'gone') speakFault(parts, toListen.person.id, 'program-changed');
  return how;
}

async function listenThrough(parts: Parts, toListen: ToListen): Promise<'over' | 'gone'> {
  const { person, session, place } = toListen;
  parts.keeping.rest();
  const fetching = fetchPlayedSession(session);
  try {
    const listening = new Listening(parts, person, place ?? newPlace(person, session));
    const ready = isReady(parts, listening, toListen);
    // Prepare the session after the greeting has requested its own sound, which is needed sooner.
    parts.player.prepare(session.audio);
    if (!(await ready)) return 'over';
    const played = await playedOf(parts, toListen, fetching);
    if (played === null) return 'over';
    if (played === 'gone') return 'gone';
    switch (await playSession(parts, { listening, played })) {
      case 'ended':
        await runCheckIn(parts, listening);
        return 'over';
      case 'gone':
        return 'gone';
      default:
        return 'over';
    }
  } finally {
    parts.player.close();
    parts.wake.want(false);
    parts.keeping.goOn();
  }
}

/** Asks the questions of a listening that was left before they were answered. */
export async function resumeQuestions(parts: Parts, person: PlannedPerson, place: Place): Promise<void> {
  await runCheckIn(parts, new Listening(parts, person, place));
}

/** Ends a listening that was left; its questions follow. */
export async function endListening(parts: Parts, person: PlannedPerson, place: Place): Promise<void> {
  const listening = new Listening(parts, person, place);
  listening.stop();
  await runCheckIn(parts, listening);
}

/** Asks the questions about a session that was not played here, for example from a file or done from memory. */
export async function askAboutSession(parts: Parts, { person, session }: Told): Promise<void> {
  await askQuestions(
    parts,
    new Listening(parts, person, { ...newPlace(person, session), stage: 'check-in' }),
  );
}

/** Reports that something is wrong while nothing plays. */
export async function reportProblem(parts: Parts, { person, session }: Told): Promise<void> {
  await showStop(parts, new Listening(parts, person, newPlace(person, session)));
}

/** The person and session that a report is about. */
type Told = { person: PlannedPerson; session: PlannedSession };

function newPlace({ id }: PlannedPerson, session: PlannedSession): Place {
  return {
    listeningId: newId(),
    personId: id,
    session,
    stage: 'listening',
    positionMs: 0,
    leftAtMs: Date.now(),
    answers: {},
    areTold: true,
  };
}

async function isReady(
  parts: Parts,
  listening: Listening,
  { person, session, place, isWelcomed }: ToListen,
): Promise<boolean> {
  const isGoingOn = place !== null;
  const isFirst = !isGoingOn && parts.day.isFirst(person);
  if (isFirst && (await showFirstCheck(parts, person)) === 'left') return false;
  // A listener who was called to a session needs no second welcome, but a first session or lying down again always gets
  // one.
  if (isWelcomed && !isFirst && !isGoingOn) return true;
  const welcomed = await showWelcome(parts, { person, title: session.title, isGoingOn });
  if (welcomed !== 'wrong') return welcomed === 'touched';
  return (await showStop(parts, listening)) === 'go-on';
}

/** Returns what the player needs in addition to the sound; null when the listener gave up waiting. */
async function playedOf(
  parts: Parts,
  { person, session }: Told,
  fetching: ReturnType<typeof fetchPlayedSession>,
): Promise<PlayedSession | 'gone' | null> {
  const { views, words, prompts } = parts;
  // Usually it arrives during the greeting, and then there is no wait to show.
  const early = await Promise.race([fetching, later(showsWaitAfterMs)]);
  if (early !== undefined && early !== 'away') return early;
  type Answer = PlayedSession | 'gone' | null;
  return views.run<Answer>('wait', { back: () => null }, ({ element, signal, finish }) => {
    const ask = async (request: ReturnType<typeof fetchPlayedSession>) => {
      element.removeAttribute('data-failed');
      writeText(element, 'state', words.say('wait'));
      const timer = setTimeout(() => prompts.say(person.id, 'one-moment'), saysWaitAfterMs);
      signal.addEventListener('abort', () => clearTimeout(timer));
      const played = await request;
      clearTimeout(timer);
      if (signal.aborted) return;
      if (played !== 'away') return finish(played);
      element.setAttribute('data-failed', '');
      writeText(element, 'state', words.say('wait-failed'));
      const fault = await faultOf(session.session);
      // The service answered and has no sound, so going online would not help.
      if (fault === 'no-sound' && element.hasAttribute('data-failed'))
        writeText(element, 'state', words.say('wait-not-made'));
      if (element.hasAttribute('data-failed') && !signal.aborted) await speakFault(parts, person.id, fault);
    };
    const again = () => {
      if (!element.hasAttribute('data-failed')) return;
      prompts.hush();
      ask(fetchPlayedSession(session));
    };
    // A listener with eyes closed touches anywhere.
    makeOneButton(element, signal, { onTouch: again, onLongPress: again });
    signal.addEventListener('abort', () => prompts.hush());
    onPress(element, '[data-do="leave"]', signal, () => finish(null));
    ask(fetching);
  });
}

function later(ms: number): Promise<undefined> {
  return new Promise((resolve) => setTimeout(resolve, ms));
}
