import type { PlannedPerson, PlannedSession } from '../../../listening/plan.js';
import { copyOf, need, onPress, write } from './dom.js';
import type { Parts } from './parts.js';
import type { Place } from './place.js';
import { isStillOpen, sessionKey, type TodaysSession } from './today.js';

const lookEveryMs = 15_000;
const mostLater = 3;
const dayMs = 24 * 3_600_000;

/** What somebody does on the first view. `go-on`, `end` and `answer` are about a listening that was left. */
export type Choice =
  | { do: 'begin' | 'not-today'; person: PlannedPerson; session: PlannedSession }
  | { do: 'go-on' | 'end' | 'answer'; person: PlannedPerson; place: Place }
  | { do: 'bedside' };

type Card = {
  session: PlannedSession;
  when: string;
  note: string;
  acts: readonly { act: Exclude<Choice['do'], 'bedside'>; place: Place | null }[];
};

/** The first view: what is for now, one button to begin it, what is done and what comes. */
export function today(parts: Parts): Promise<Choice> {
  const { views, plans } = parts;
  return views.run<Choice>('today', { back: null }, ({ element, signal, finish }) => {
    const list = need(element, '[data-people]');
    let shown = '';
    const show = () => {
      need(element, '[data-outdated]').hidden = !plans.isOutdated;
      const focused = document.activeElement?.getAttribute('data-key') ?? null;
      const next = parts.day.people.map((person) => personBlock(parts, person, finish));
      const content = next.map((block) => block.outerHTML).join('');
      // What did not change stays, so that a finger or a screen reader does not lose it.
      if (content === shown) return;
      shown = content;
      list.replaceChildren(...next);
      if (focused !== null) list.querySelector<HTMLElement>(`[data-key="${CSS.escape(focused)}"]`)?.focus();
    };
    onPress(element, '[data-do="bedside"]', signal, () => finish({ do: 'bedside' }));
    const timer = setInterval(show, lookEveryMs);
    parts.day.addEventListener('change', show, { signal });
    signal.addEventListener('abort', () => clearInterval(timer));
    show();
  });
}

function personBlock(parts: Parts, person: PlannedPerson, choose: (choice: Choice) => void): HTMLElement {
  const { day, plans, words } = parts;
  const block = copyOf('person');
  const isHeld = day.isHeld(person);
  const sessions = isHeld || plans.isOutdated ? [] : day.sessionsOf(person);
  const { isCaregiver } = plans.plan;
  write(block, 'name', isCaregiver ? person.spokenName : words.say('your-sessions'));
  need(block, '[data-text="name"]').classList.toggle('visually-hidden', !isCaregiver);
  need(block, '[data-held]').hidden = !isHeld;
  const cards = isHeld || plans.isOutdated ? [] : cardsOf(parts, person, sessions);
  need(block, '[data-cards]').append(...cards.map((card) => cardElement(parts, person, card, choose)));
  const isQuiet = cards.length === 0 && !isHeld && !plans.isOutdated;
  write(block, 'nothing', isQuiet ? nextOne(parts, person, sessions) : '');
  const behind = sessions.filter(
    ({ state, session }) =>
      ['done', 'begun', 'skipped', 'missed'].includes(state) && isToday(parts, person, session),
  );
  fillList(
    block,
    'behind',
    behind.map(({ session, state }) => {
      const time = parts.times.time(session.dueAtMs, person.zone);
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
    if (session.audio === left?.session.audio) continue;
    const isOpen = isStillOpen(session, nowMs);
    const isAgain = isOpen && (state === 'begun' || state === 'skipped');
    if (state !== 'due' && !isAgain) continue;
    const time = times.time(session.dueAtMs, person.zone);
    const acts = (isAgain ? (['begin'] as const) : (['begin', 'not-today'] as const)).map((act) => ({
      act,
      place: null,
    }));
    const note = isAgain ? words.say(`again-${state}`) : '';
    cards.push({ session, when: words.say('when-due', { time }), note, acts });
  }
  return cards;
}

/** A listening that was left on this phone and is still prescribed as it was. */
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
  { words }: Parts,
  person: PlannedPerson,
  { session, when, note, acts }: Card,
  choose: (choice: Choice) => void,
): HTMLElement {
  const card = copyOf('card');
  const titleId = `title-${sessionKey(session)}`.replaceAll(/[^\w-]/g, '-');
  need(card, '[data-text="title"]').id = titleId;
  write(card, 'title', session.title);
  write(card, 'when', when);
  write(card, 'minutes', words.count('minutes', session.minutes));
  write(card, 'note', note);
  need<HTMLAnchorElement>(card, '[data-words]').href = session.words;
  need<HTMLAnchorElement>(card, '[data-file]').href = `${session.audio}?download`;
  for (const button of card.querySelectorAll<HTMLButtonElement>('[data-do]')) {
    const found = acts.find(({ act }) => act === button.dataset.do);
    button.hidden = found === undefined;
    if (found === undefined) continue;
    const { act, place } = found;
    // Only the first thing to do is the large one.
    button.classList.toggle('quiet', found !== acts[0]);
    button.dataset.key = `${person.id} ${sessionKey(session)} ${act}`;
    button.setAttribute('aria-describedby', titleId);
    if (act === 'begin' && found !== acts[0]) button.textContent = words.say('from-start');
    button.addEventListener('click', () => {
      if (act === 'begin' || act === 'not-today') choose({ do: act, person, session });
      else if (place !== null) choose({ do: act, person, place });
    });
  }
  return card;
}

function nextOne(parts: Parts, person: PlannedPerson, sessions: readonly TodaysSession[]): string {
  const next = sessions.find(({ state }) => state === 'later');
  if (next === undefined) return parts.words.say('nothing-planned');
  return dayAndTime(parts, person, next.session, 'next');
}

/** "Today at 17:00", "tomorrow at 9:00", "on Friday at 9:00", in the sentence that is named. */
function dayAndTime(
  { words, times, plans }: Parts,
  { zone }: PlannedPerson,
  session: PlannedSession,
  key: string,
): string {
  const { dueAtMs, title } = session;
  const nowMs = plans.now();
  const [day, weekday] = [times.day(dueAtMs, zone), times.weekday(dueAtMs, zone)];
  const values = { title, time: times.time(dueAtMs, zone), day: weekday };
  if (day === times.day(nowMs, zone)) return words.say(`${key}-today`, values);
  if (day === times.day(nowMs + dayMs, zone)) return words.say(`${key}-tomorrow`, values);
  return words.say(`${key}-day`, values);
}

function isToday({ times, plans }: Parts, { zone }: PlannedPerson, { dueAtMs }: PlannedSession): boolean {
  return times.day(dueAtMs, zone) === times.day(plans.now(), zone);
}

function fillList(block: HTMLElement, name: string, rows: readonly string[]): void {
  const list = need(block, `[data-list="${name}"]`);
  list.hidden = rows.length === 0;
  need(list, 'ul').replaceChildren(
    ...rows.map((row) => {
      const item = document.createElement('li');
      item.textContent = row;
      return item;
    }),
  );
}
