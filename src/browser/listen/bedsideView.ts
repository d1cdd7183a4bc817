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
/** After this time without a touch while nothing plays, the screen returns to its clock. */
const idleMs = 30 * 60_000;
/** Kept in the address, so that a restarted tablet opens in the same view. */
export const bedsideHash = '#bedside';

/**
 * Shows the bedside view: a dim clock, who and what is next, a soft chime when it is time, and then one touch or key to
 * start. It stays open until someone leaves it with its button; a long press reports that something is wrong.
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
      /** The session that the voice was last heard calling to. */
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
        // A session started from here needs the sentences for faults in memory too.
        for (const person of day.people) prompts.remember(person.id);
        const people = day.people.map((person) => ({
          person,
          // Nobody is called to a session after being too unwell for one today.
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
          // The session may have been started here before and interrupted.
          const place = day.leftOff(person.id, session);
          // A listener who was called by the voice knows that it is audible, so the welcome can be skipped. A call that
          // did not play does not count.
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

/** Returns whether the plan is for a day that has ended. */
function isAnotherDay({ day, plans, times }: Parts): boolean {
  return day.people.some((person) => person.day !== times.day(plans.now(), person));
}
