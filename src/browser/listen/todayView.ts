import { replaceWithEasier } from '../../listening/easierSession.js';
import { findNearestSession } from '../../listening/nearest.js';
import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import { dayAndTime } from './dayAndTime.js';
import { copyOf, onPress, requireElement, writeText } from './dom.js';
import type { Parts } from './parts.js';
import type { Place } from './place.js';
import { markViewChange } from './steady.js';
import { isStillOpen, sessionKey, type TodaysSession } from './today.js';
import { describeClinicKnowledge } from './warned.js';

const lookEveryMs = 15_000;
const mostLater = 3;

/**
 * The listener's choice on the first view. `go-on`, `end` and `answer` concern a listening that was left; `tell` and
 * `wrong` need none.
 */
export type Choice =
  | {
      do: 'begin' | 'not-today' | 'figures' | 'tell' | 'wrong';
      person: PlannedPerson;
      session: PlannedSession;
    }
  | { do: 'go-on' | 'end' | 'answer'; person: PlannedPerson; place: Place }
  | { do: 'bedside' };

type Card = {
  session: PlannedSession;
  when: string;
  note: string;
  acts: readonly { act: Act; place: Place | null }[];
};
/** `better` only enables the start. */
type Act = Exclude<Choice['do'], 'bedside' | 'figures' | 'tell' | 'wrong'> | 'better';

/** Shows the first view: the current session, one button to start it, what is done and what comes next. */
export function showToday(parts: Parts): Promise<Choice> {
  const { views, plans } = parts;
  return views.run<Choice>('today', { back: null }, ({ element, signal, finish }) => {
    const list = requireElement(element, '[data-people]');
    let shown = '';
    const show = () => {
      requireElement(element, '[data-outdated]').hidden = !plans.isOutdated;
      const focused = document.activeElement?.getAttribute('data-key') ?? null;
      const next = parts.day.people.map((person) => personBlock(parts, person, finish));
      const content = next.map((block) => block.outerHTML).join('');
      // Unchanged content stays in place, so that a finger or a screen reader does not lose it.
      if (content === shown) return;
      shown = content;
      const before = buttonsIn(list);
      list.replaceChildren(...next);
      // A different button may now be under the finger.
      if (buttonsIn(list) !== before) markViewChange();
      if (focused !== null) list.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
    };
    onPress(element, '[data-do="bedside"]', signal, () => finish({ do: 'bedside' }));
    const timer = setInterval(show, lookEveryMs);
    // An easier session has to be fetched first, so it is offered only online.
    for (const kind of ['online', 'offline']) window.addEventListener(kind, show, { signal });
    for (const source of [parts.day, parts.courier, parts.prompts])
      source.addEventListener('change', show, { signal });
    signal.addEventListener('abort', () => clearInterval(timer));
    show();
  });
}

/** Returns a key for the buttons that are shown, in order. */
function buttonsIn(list: HTMLElement): string {
  const buttons = [...list.querySelectorAll<HTMLElement>('[data-key]')].filter(({ hidden }) => !hidden);
  return buttons.map(({ dataset }) => dataset.key).join();
}

function personBlock(parts: Parts, person: PlannedPerson, choose: (choice: Choice) => void): HTMLElement {
  const { day, plans, words } = parts;
  const block = copyOf('person');
  const isHeld = day.isHeld(person);
  const sessions = isHeld || plans.isOutdated ? [] : day.sessionsOf(person);
  const { isCaregiver } = plans.plan;
  writeText(block, 'name', isCaregiver ? person.spokenName : words.say('your-sessions'));
  requireElement(block, '[data-text="name"]').classList.toggle('visually-hidden', !isCaregiver);
  requireElement(block, '[data-held="why"]').hidden = !isHeld || !person.saysWhyHeld;
  requireElement(block, '[data-held="only"]').hidden = !isHeld || person.saysWhyHeld;
  const isBeingChecked = !isHeld && person.isBeingChecked === true;
  requireElement(block, '[data-checked]').hidden = !isBeingChecked;
  const cards = isHeld || plans.isOutdated ? [] : cardsOf(parts, person, sessions);
  requireElement(block, '[data-cards]').append(
    ...cards.map((card) => cardElement(parts, person, card, choose)),
  );
  const offers = (wanted: string) => cards.some(({ acts }) => acts.some(({ act }) => act === wanted));
  if (offers('go-on') || offers('begin')) parts.prompts.remember(person.id);
  if (offers('go-on')) parts.prompts.prepare(person.id, 'welcome');
  else if (offers('begin')) parts.prompts.prepare(person.id, day.isFirst(person) ? 'first-check' : 'welcome');
  writeText(block, 'told', reportStateOf(parts, person));
  offerWays(parts, person, { block, cards, choose });
  offerFigures(parts, person, { block, cards, choose });
  const isQuiet = cards.length === 0 && !isHeld && !isBeingChecked && !plans.isOutdated;
  writeText(block, 'nothing', isQuiet ? nextOne(parts, person, sessions) : '');
  const behind = sessions.filter(
    ({ state, session }) =>
      ['done', 'begun', 'skipped', 'missed'].includes(state) && isToday(parts, person, session),
  );
  fillList(
    block,
    'behind',
    behind.map(({ session, state }) => {
      const time = parts.times.time(session.dueAtMs, person);
      return words.say(`row-${state}`, { time, title: session.title });
    }),
  );
  const later = sessions.filter(({ state }) => state === 'later').slice(0, mostLater);
  fillList(
    block,
    'later',
    later.map(({ session }) => dayAndTime(parts, person, session, 'row-later')),
  );
  return block;
}

/** Returns what the clinic knows about why there is no session, for people who may know the reason. */
function reportStateOf(parts: Parts, person: PlannedPerson): string {
  const mayKnow = person.saysWhyHeld || parts.courier.hasUnsentWarning(person.id);
  return parts.day.isHeld(person) && mayKnow ? describeClinicKnowledge(parts, person.id) : '';
}

/** Offers what can be reported without playing a session, about the nearest one. */
function offerWays(
  { plans }: Parts,
  person: PlannedPerson,
  { block, cards, choose }: { block: HTMLElement; cards: readonly Card[]; choose: (choice: Choice) => void },
): void {
  const session = findNearestSession(plans.now(), person.sessions);
  requireElement(block, '[data-ways]').hidden = session === null;
  if (session === null) return;
  // A listening that was left already has its own questions.
  const hasLeft = cards.some(({ acts }) => acts.some(({ act }) => act === 'answer' || act === 'go-on'));
  for (const way of ['tell', 'wrong'] as const) {
    const button = requireElement(block, `[data-do="${way}"]`);
    button.hidden = way === 'tell' && hasLeft;
    button.dataset.key = `${person.id} ${way}`;
    button.addEventListener('click', () => choose({ do: way, person, session }));
  }
}

/** Below all that has to be found at once: how each session that can begin is done. */
function offerFigures(
  { words }: Parts,
  person: PlannedPerson,
  { block, cards, choose }: { block: HTMLElement; cards: readonly Card[]; choose: (choice: Choice) => void },
): void {
  const drawn = cards.filter(
    ({ session, acts }) =>
      session.figures !== undefined && acts.some(({ act }) => act === 'begin' || act === 'go-on'),
  );
  const buttons = drawn.map(({ session }) => {
    const button = document.createElement('button');
    button.className = 'quiet';
    button.dataset.key = `${person.id} ${sessionKey(session)} figures`;
    button.textContent =
      drawn.length === 1 ? words.say('see-how') : words.say('see-how-title', { title: session.title });
    button.addEventListener('click', () => choose({ do: 'figures', person, session }));
    return button;
  });
  requireElement(block, '[data-looks]').append(...buttons);
}

function cardsOf(parts: Parts, person: PlannedPerson, sessions: readonly TodaysSession[]): Card[] {
  const { day, plans, words, times } = parts;
  const nowMs = plans.now();
  const cards: Card[] = [];
  const unanswered = day.unanswered(person.id);
  if (unanswered !== null) {
    const acts = [{ act: 'answer', place: unanswered }] as const;
    cards.push({ session: unanswered.session, when: '', note: words.say('unanswered'), acts });
  }
  const left = placeToGoOn(parts, person);
  if (left !== null) {
    const acts = (['go-on', 'begin', 'end'] as const).map((act) => ({ act, place: left }));
    const minutes = Math.floor(left.positionMs / 60_000);
    const note = minutes === 0 ? words.say('left-at-start') : words.count('left-after', minutes);
    cards.push({ session: left.session, when: '', note, acts });
  }
  for (const { session, state } of sessions) {
    if (left !== null && sessionKey(session) === sessionKey(left.session)) continue;
    const isOpen = isStillOpen(session, nowMs);
    const isAgain = isOpen && (state === 'begun' || state === 'skipped');
    if (state !== 'due' && !isAgain) continue;
    const time = times.time(session.dueAtMs, person);
    const acts = (isAgain ? (['begin'] as const) : (['begin', 'not-today'] as const)).map((act) => ({
      act,
      place: null,
    }));
    const note = isAgain ? words.say(`again-${state}`) : '';
    cards.push({ session, when: words.say('when-due', { time }), note, acts });
  }
  return day.isUnwell(person) ? cards.map((card) => untilBetter(parts, card)) : cards;
}

/** Returns the card with a button to say "better" first; actions that only report something stay available. */
function untilBetter({ words }: Parts, { acts, ...card }: Card): Card {
  const others = acts.filter(({ act }) => act !== 'begin' && act !== 'go-on');
  if (others.length === acts.length) return { acts, ...card };
  return { ...card, note: words.say('again-better'), acts: [{ act: 'better', place: null }, ...others] };
}

/** Returns a listening that was left on this phone, if its session is still prescribed unchanged. */
function placeToGoOn({ day }: Parts, person: PlannedPerson): Place | null {
  const place = day.placeOf(person.id);
  if (place === null) return null;
  const isPrescribed = person.sessions.some(
    ({ prescriptionId, versionNumber }) =>
      prescriptionId === place.session.prescriptionId && versionNumber === place.session.versionNumber,
  );
  return isPrescribed ? day.leftOff(person.id, place.session) : null;
}

function cardElement(
  { words, day, plans, prompts }: Parts,
  person: PlannedPerson,
  { session, when, note, acts }: Card,
  choose: (choice: Choice) => void,
): HTMLElement {
  const card = copyOf('card');
  const titleId = `title-${sessionKey(session)}`.replaceAll(/[^\w-]/g, '-');
  requireElement(card, '[data-text="title"]').id = titleId;
  writeText(card, 'title', session.title);
  writeText(card, 'when', when);
  writeText(card, 'minutes', words.count('minutes', session.minutes));
  writeText(card, 'note', note);
  const mustAsk = plans.plan.isCaregiver && !person.showsDone;
  writeText(card, 'ask-first', mustAsk ? words.say('ask-first', { name: person.spokenName }) : '');
  requireElement<HTMLAnchorElement>(card, '[data-words]').href = session.words;
  requireElement<HTMLAnchorElement>(card, '[data-file]').href = `${session.audio}?download`;
  // Nothing is played before the sentences for faults can be spoken.
  const voice = prompts.readyFor(person.id);
  const canPlay = voice === 'here' || voice === 'refused';
  const wouldPlay = acts.some(({ act }) => act === 'begin' || act === 'go-on');
  writeText(card, 'voice', wouldPlay && !canPlay ? words.say(`voice-${voice}`) : '');
  for (const button of card.querySelectorAll<HTMLButtonElement>('[data-do]')) {
    const found = acts.find(({ act }) => act === button.dataset.do);
    button.hidden = found === undefined;
    if (found === undefined) continue;
    const { act, place } = found;
    if (act === 'begin' || act === 'go-on') button.disabled = !canPlay;
    // Only the first action gets the large button.
    button.classList.toggle('quiet', found !== acts[0]);
    button.dataset.key = `${person.id} ${sessionKey(session)} ${act}`;
    button.setAttribute('aria-describedby', titleId);
    if (act === 'begin' && found !== acts[0]) button.textContent = words.say('from-start');
    button.addEventListener('click', () => {
      if (act === 'better') day.noteBetter(person);
      else if (act === 'begin' || act === 'not-today') choose({ do: act, person, session });
      else if (place !== null) choose({ do: act, person, place });
    });
  }
  if (acts[0]?.act === 'begin' && canPlay)
    offerEasier(words, card, { person, session }, (chosen) =>
      choose({ do: 'begin', person, session: chosen }),
    );
  return card;
}

/**
 * Offers the easier sessions for a hard day, less prominently below the main button, where their sound can be loaded.
 */
function offerEasier(
  words: Parts['words'],
  card: HTMLElement,
  { person, session }: { person: PlannedPerson; session: PlannedSession },
  begin: (chosen: PlannedSession) => void,
): void {
  if (!navigator.onLine) return;
  for (const button of card.querySelectorAll<HTMLElement>('[data-choice]')) {
    const easier = session.easier?.find(({ choice }) => choice === button.dataset.choice);
    if (easier === undefined) continue;
    button.hidden = false;
    button.textContent = words.say(`easier-${easier.choice}`, { count: easier.minutes });
    button.dataset.key = `${person.id} ${sessionKey(session)} ${easier.choice}`;
    button.setAttribute('aria-describedby', requireElement(card, '[data-text="title"]').id);
    button.addEventListener('click', () => begin(replaceWithEasier(session, easier)));
  }
}

function nextOne(parts: Parts, person: PlannedPerson, sessions: readonly TodaysSession[]): string {
  const next = sessions.find(({ state }) => state === 'later');
  const when =
    next === undefined ? parts.words.say('nothing-planned') : dayAndTime(parts, person, next.session, 'next');
  return person.isWeekDone ? `${parts.words.say('week-done')} ${when}` : when;
}

function isToday({ times, plans }: Parts, person: PlannedPerson, { dueAtMs }: PlannedSession): boolean {
  return times.day(dueAtMs, person) === times.day(plans.now(), person);
}

function fillList(block: HTMLElement, name: string, rows: readonly string[]): void {
  const list = requireElement(block, `[data-list="${name}"]`);
  list.hidden = rows.length === 0;
  requireElement(list, 'ul').replaceChildren(
    ...rows.map((row) => {
      const item = document.createElement('li');
      item.textContent = row;
      return item;
    }),
  );
}
