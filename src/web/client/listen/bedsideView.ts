import { bedsideAt, callAt, type Moment } from './bedside.js';
import type { Chime } from './chime.js';
import { onPress, write } from './dom.js';
import { listenTo } from './listenFlow.js';
import type { Parts } from './parts.js';
import { sessionKey } from './today.js';
import { makeOneButton, onKeys } from './touch.js';

const lookEveryMs = 1_000;
const refreshEveryMs = 5 * 60_000;
/** Nobody touched anything for so long while nothing plays: the screen goes back to its clock. */
const idleMs = 30 * 60_000;
/** In the address, so that a tablet that starts anew opens as it was. */
export const bedsideHash = '#bedside';

/**
 * A tablet beside the bed: a dim clock, who and what is next, a soft chime when it is time, and then one touch or one
 * key to begin. It stays until somebody leaves it.
 */
export async function bedside(parts: Parts, chime: Chime): Promise<void> {
  const { views, words, wake, day, plans, times, prompts } = parts;
  history.replaceState(history.state, '', bedsideHash);

  await views.run<void>(
    'bedside',
    { back: () => undefined, again: () => wake.want(true, true) },
    ({ element, signal, finish }) => {
      let shown: Moment = { kind: 'waiting', next: null };
      let called = '';
      /** Whether the voice was heard calling to what is due. */
      let heard = '';
      let touchedAtMs = Date.now();
      let askedAtMs = Date.now();

      const look = () => {
        if (Date.now() - askedAtMs > refreshEveryMs || isAnotherDay(parts)) {
          askedAtMs = Date.now();
          day.refresh();
        }
        if (views.current !== 'bedside') return giveUpWaiting();
        const nowMs = plans.now();
        const people = day.people.map((person) => ({
          person,
          isHeld: day.isHeld(person),
          sessions: day.sessionsOf(person),
        }));
        shown = plans.isOutdated ? { kind: 'waiting', next: null } : bedsideAt(people, nowMs);
        show(
          nowMs,
          people.some(({ isHeld }) => isHeld),
        );
        call();
      };
      const show = (nowMs: number, hasHeld: boolean) => {
        const someones = shown.kind === 'due' ? shown : shown.next;
        const zone = (someones?.person ?? day.people[0])?.zone ?? 'UTC';
        element.dataset.state = chime.isUnlocked ? shown.kind : 'silent';
        write(element, 'clock', times.time(nowMs, zone));
        const time = someones === null ? '' : times.time(someones.session.dueAtMs, zone);
        const values = {
          name: someones?.person.spokenName ?? '',
          title: someones?.session.title ?? '',
          time,
        };
        const key = someones === null ? 'bedside-nothing' : `bedside-${shown.kind}`;
        write(element, 'what', plans.isOutdated ? words.say('bedside-outdated') : words.say(key, values));
        write(element, 'held', hasHeld ? words.say('bedside-held') : '');
        write(element, 'touch', words.say(chime.isUnlocked ? 'bedside-touch' : 'bedside-silent'));
        element.toggleAttribute('data-can-touch', shown.kind === 'due' || !chime.isUnlocked);
        write(element, 'wake', wake.isRefused ? words.say('bedside-wake') : '');
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
        if (spoken === 'ended') heard = key;
      };
      const begin = async () => {
        touchedAtMs = Date.now();
        if (!chime.isUnlocked) await chime.unlock();
        else if (shown.kind === 'due') {
          const { person, session } = shown;
          prompts.hush();
          // Somebody may have begun it here before and been interrupted.
          const place = day.leftOff(person.id, session);
          // Who was called by the voice knows that it can be heard; a call that nobody heard is no welcome.
          const isWelcomed = heard === `${person.id} ${sessionKey(session)}`;
          await listenTo(parts, { person, session, place, isWelcomed });
          await day.refresh();
        }
        look();
      };
      const giveUpWaiting = () => {
        if (parts.player.state === 'playing' || Date.now() - touchedAtMs < idleMs) return;
        touchedAtMs = Date.now();
        views.closeAbove('bedside');
      };

      makeOneButton(element, signal, { onTouch: begin, onLongPress: () => finish() });
      onKeys(signal, element, { any: begin, Escape: () => finish() });
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

/** The plan is of a day that is over. */
function isAnotherDay({ day, plans, times }: Parts): boolean {
  return day.people.some((person) => person.day !== times.day(plans.now(), person.zone));
}
