import { bedsideAt, callAt, type Moment } from './bedside.js';
import type { Chime } from './chime.js';
import { dayAndTime } from './dayAndTime.js';
import { onPress, writeText } from './dom.js';
import { reportProblem, runListening } from './listenFlow.js';
import type { Parts } from './parts.js';
import { sessionKey } from './today.js';
import { makeOneButton, onKeys } from './touch.js';

const lookEveryMs = 1_000;
const refreshEveryMs = 5 * 60_000;
/** No one touched anything for so long while nothing plays: the screen goes back to its clock. */
const idleMs = 30 * 60_000;
/** In the address, so that a tablet that starts again opens as it was. */
export const bedsideHash = '#bedside';

/**
 * A tablet beside the bed: a dim clock, who and what is next, a soft chime when it is time, and then one touch or one
 * key to begin. It stays until someone leaves it by its button; a long press says that something is wrong.
 */
export async function showBedside(parts: Parts, chime: Chime): Promise<void> {
  const { views, words, wake, day, plans, times, prompts } = parts;
  history.replaceState(history.state, '', bedsideHash);

  await views.run<void>(
    'bedside',
    { back: () => undefined, again: () => wake.want(true, true) },
    ({ element, signal, finish }) => {
      let shown: Moment = { kind: 'waiting', next: null };
      let called = '';
      /** Whether the voice was heard calling to what is due. */
      let welcomedKey = '';
      let touchedAtMs = Date.now();
      let askedAtMs = Date.now();

      const look = () => {
        if (Date.now() - askedAtMs > refreshEveryMs || isAnotherDay(parts)) {
          askedAtMs = Date.now();
          day.refresh();
        }
        if (views.current !== 'bedside') return giveUpWaiting();
        const nowMs = plans.now();
        // Whoever begins from here hears of a fault too.
        for (const person of day.people) prompts.remember(person.id);
        const people = day.people.map((person) => ({
          person,
          // No one is called to a session who was not well enough for one today.
          isHeld: day.isHeld(person) || day.isUnwell(person),
          sessions: day.sessionsOf(person),
        }));
        shown = plans.isOutdated ? { kind: 'waiting', next: null } : bedsideAt(people, nowMs);
        show(nowMs);
        call();
      };
      const show = (nowMs: number) => {
        const someones = shown.kind === 'due' ? shown : shown.next;
        const clocks = someones?.person ?? day.people[0] ?? { zone: 'UTC' };
        element.dataset.state = chime.isUnlocked ? shown.kind : 'silent';
        writeText(element, 'clock', times.time(nowMs, clocks));
        writeText(element, 'what', plans.isOutdated ? words.say('bedside-outdated') : what());
        const isHeld = day.people.some((person) => day.isHeld(person) || person.isBeingChecked === true);
        const isUnwell = day.people.some((person) => day.isUnwell(person));
        writeText(
          element,
          'held',
          isHeld ? words.say('bedside-held') : isUnwell ? words.say('bedside-unwell') : '',
        );
        writeText(element, 'ask-first', whomToAsk());
        writeText(element, 'touch', words.say(chime.isUnlocked ? 'bedside-touch' : 'bedside-silent'));
        element.toggleAttribute('data-can-touch', shown.kind === 'due' || !chime.isUnlocked);
        writeText(element, 'wake', wake.isRefused ? words.say('bedside-wake') : '');
      };
      const what = () => {
        if (shown.kind === 'due')
          return words.say('bedside-due', { name: shown.person.spokenName, title: shown.session.title });
        if (shown.next === null) return words.say('bedside-nothing');
        return dayAndTime(parts, shown.next.person, shown.next.session, 'bedside-next');
      };
      const whomToAsk = () => {
        if (shown.kind !== 'due' || shown.person.showsDone) return '';
        return words.say('ask-first', { name: shown.person.spokenName });
      };
      const call = async () => {
        if (shown.kind !== 'due' || !chime.isUnlocked) return;
        const key = `${shown.person.id} ${sessionKey(shown.session)}`;
        const minute = `${key} ${shown.minute}`;
        const how = callAt(shown.minute);
        if (how === null || minute === called) return;
        called = minute;
        chime.ring(how.strength);
        if (!how.isSpoken) return;
        const spoken = await prompts.say(shown.person.id, 'time-for-session');
        if (spoken === 'ended') welcomedKey = key;
      };
      const begin = async () => {
        touchedAtMs = Date.now();
        if (!chime.isUnlocked) await chime.unlock();
        else if (shown.kind === 'due') {
          const { person, session } = shown;
          prompts.hush();
          // Someone may have begun it here before and been interrupted.
          const place = day.leftOff(person.id, session);
          // Who was called by the voice knows that it can be heard; a call that no one heard is no welcome.
          const isWelcomed = welcomedKey === `${person.id} ${sessionKey(session)}`;
          await runListening(parts, { person, session, place, isWelcomed });
          await day.refresh();
        }
        look();
      };
      const wrong = async () => {
        touchedAtMs = Date.now();
        prompts.hush();
        if (shown.kind === 'due') await reportProblem(parts, shown);
        else await whomToCall(parts);
        look();
      };
      const giveUpWaiting = () => {
        if (parts.player.state === 'playing' || Date.now() - touchedAtMs < idleMs) return;
        touchedAtMs = Date.now();
        views.closeAbove('bedside');
      };

      makeOneButton(element, signal, { onTouch: begin, onLongPress: wrong });
      onKeys(signal, element, { any: begin, s: wrong, Escape: wrong });
      onPress(element, '[data-do="leave"]', signal, () => finish());
      for (const kind of ['pointerdown', 'keydown', 'input'])
        window.addEventListener(kind, () => (touchedAtMs = Date.now()), { signal });
      const timer = setInterval(look, lookEveryMs);
      signal.addEventListener('abort', () => {
        clearInterval(timer);
        prompts.hush();
        wake.want(false);
      });
      wake.want(true, true);
      look();
    },
  );
  history.replaceState(history.state, '', location.pathname);
}

function whomToCall({ views }: Parts): Promise<void> {
  return views.run<void>('call', { back: () => undefined }, ({ element, signal, finish }) => {
    onPress(element, '[data-do="leave"]', signal, () => finish());
  });
}

/** The plan is of a day that is over. */
function isAnotherDay({ day, plans, times }: Parts): boolean {
  return day.people.some((person) => person.day !== times.day(plans.now(), person));
}
