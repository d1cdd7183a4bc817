import type { Plan } from '../../listening/plan.js';
import { bedsideHash, showBedside } from './bedsideView.js';
import { soundCache } from './caches.js';
import { Chime } from './chime.js';
import { Courier } from './courier.js';
import { Day } from './day.js';
import { requireElement } from './dom.js';
import { speakFault, speakPlaybackFault } from './faults.js';
import { Figures } from './figures.js';
import { showFigures } from './figuresView.js';
import { forgetLink } from './forgetting.js';
import { Keeping } from './keeping.js';
import { askAboutSession, endListening, reportProblem, resumeQuestions, runListening } from './listenFlow.js';
import { MediaControls } from './mediaControls.js';
import { Notices } from './notices.js';
import { showNotToday } from './notTodayView.js';
import { Outbox } from './outbox.js';
import type { Parts } from './parts.js';
import { showPlainPage, waitUntilPlainPageIdle } from './plainPage.js';
import { PlanKeeper, type Refreshed } from './planKeeper.js';
import { Player } from './player.js';
import { buildPrefetchList } from './prefetchList.js';
import { Prompts } from './prompts.js';
import { openSettings } from './settings.js';
import { openDrawer, ownPrefix, Shelf } from './shelf.js';
import { guardAgainstTrembling } from './steady.js';
import { Times } from './times.js';
import { type Choice, showToday } from './todayView.js';
import { Views } from './views.js';
import { Volume } from './volume.js';
import { Wake } from './wake.js';
import { Words } from './words.js';

const refreshEveryMs = 5 * 60_000;
/** A phone that has just come online may need a moment before it can reach anything. */
const soonAgainMs = 10_000;
/** A page that becomes visible again refreshes only when its plan is older than this. */
const freshForMs = 60_000;

const scope = new URL('./', location.href).pathname;

/**
 * Opens the page: reads what is stored on this phone and what the service says, and then shows one view after the
 * other.
 */
async function open(): Promise<void> {
  guardAgainstTrembling();
  const notices = new Notices(requireElement(document, '[data-notices]'));
  const drawer = openDrawer();
  const shelf = new Shelf(drawer, ownPrefix(scope), () => notices.full());
  // The volume belongs to the device, regardless of whose link is open.
  const deviceShelf = new Shelf(drawer, 'stillcount-device ', () => notices.full());
  const inPage: Plan = JSON.parse(requireElement(document, '#plan').textContent ?? '');
  const plans = new PlanKeeper(shelf, inPage, Date.now);
  const words = new Words(requireElement<HTMLTemplateElement>(document, 'template#words'));
  const sound = requireElement<HTMLAudioElement>(document, 'audio[data-sound="session"]');
  const voice = requireElement<HTMLAudioElement>(document, 'audio[data-sound="voice"]');
  const sender = () => ({
    scope,
    isCaregiver: plans.plan.isCaregiver,
    peopleIds: plans.plan.people.map(({ id }) => id),
  });
  const courier = new Courier(new Outbox(drawer, () => notices.full()), sender, {
    onUnsent: (count, holdsWarning) => notices.unsent(count, holdsWarning),
    onRefused: (items) => notices.refused(items),
    onShut: () => refresh(),
  });
  const status = requireElement(document, '[data-status]');
  const parts: Parts = {
    words,
    plans,
    courier,
    views: new Views(requireElement(document, 'main')),
    times: new Times(document.documentElement.lang, navigator.language),
    day: new Day(plans, shelf, courier),
    keeping: new Keeping(soundCache(scope), (state) => notices.kept(state)),
    prompts: new Prompts(voice, (personId, address) => speakPlaybackFault(parts, personId, address)),
    figures: new Figures(),
    player: new Player(sound),
    controls: new MediaControls(),
    volume: new Volume(deviceShelf, [sound, voice]),
    wake: new Wake(deviceShelf),
    announce: (text) => {
      status.textContent = text;
    },
  };
  const chime = new Chime();

  let departure: Promise<void> | null = null;
  let again: ReturnType<typeof setTimeout> | undefined;
  /** Fetches the current plan from the service. */
  async function refresh(): Promise<Refreshed> {
    const refreshed = await parts.day.refresh();
    if (refreshed === 'fresh') parts.keeping.want(buildPrefetchList(plans.plan));
    clearTimeout(again);
    if (refreshed === 'away' && navigator.onLine) again = setTimeout(refreshOld, soonAgainMs);
    if (refreshed === 'dead') {
      departure ??= leaveForGood();
      await departure;
    }
    // The service shows its own page for the PIN, but a session in progress is not interrupted for it.
    if (refreshed === 'locked' && parts.views.current === 'today') location.reload();
    return refreshed;
  }
  /**
   * Handles a link that no longer opens. A warning that did not reach the clinic through it has to be reported by
   * phone.
   */
  async function leaveForGood(): Promise<void> {
    // A listener with eyes closed first hears that the page is about to close.
    const [person] = plans.plan.people;
    if (parts.views.current !== 'today' && person !== undefined) {
      parts.player.pause();
      await speakFault(parts, person.id, 'page-ended');
    }
    if (courier.holdsWarning) await notices.unsentWarning();
    await forgetLink(scope, shelf);
    location.replace(location.pathname);
  }
  const refreshOld = () => {
    const isSeen = document.visibilityState === 'visible' && parts.views.current === 'today';
    if (isSeen && plans.ageMs > freshForMs) refresh();
  };

  openSettings(parts, requireElement<HTMLDetailsElement>(document, '[data-settings]'));
  document.addEventListener('visibilitychange', refreshOld);
  window.addEventListener('online', () => refresh());
  setInterval(refreshOld, refreshEveryMs);
  navigator.serviceWorker?.register('worker.js').catch(() => notices.kept('none'));
  // Send what an earlier page could not.
  courier.send();
  // Refresh after everything that is needed to start.
  window.addEventListener('load', () => setTimeout(refresh, 1_000));

  if (location.hash === bedsideHash) await showBedside(parts, chime);
  for (;;) {
    const choice = await showToday(parts);
    notices.gone(false);
    await follow(choice);
    refresh();
  }

  async function follow(choice: Choice): Promise<void> {
    navigator.storage?.persist?.();
    if (choice.do === 'bedside') {
      await chime.unlock();
      return showBedside(parts, chime);
    }
    const { person } = choice;
    switch (choice.do) {
      case 'not-today':
        await showNotToday(parts, choice);
        return;
      case 'answer':
        return resumeQuestions(parts, person, choice.place);
      case 'end':
        return endListening(parts, person, choice.place);
      case 'figures':
        return showFigures(parts, choice);
      case 'tell':
        return askAboutSession(parts, choice);
      case 'wrong':
        return reportProblem(parts, choice);
      case 'begin':
        return listen({ ...choice, place: null });
      case 'go-on':
        return listen({ ...choice, session: choice.place.session });
    }
  }

  async function listen(what: Omit<Parameters<typeof runListening>[1], 'isWelcomed'>): Promise<void> {
    if ((await runListening(parts, { ...what, isWelcomed: false })) === 'gone') notices.gone(true);
  }
}

/** Starts the page. If anything prevents that, the plain page stays, which says whom to call. */
async function start(): Promise<void> {
  try {
    await waitUntilPlainPageIdle();
    await open();
  } catch (error) {
    showPlainPage();
    // Rethrow for the browser's console, where someone who looks after the phone can see it.
    throw error;
  }
}

// The page for a dead link loads this script too, because a link may end while its page is closed.
if (document.body.hasAttribute('data-listening-page')) start();
else forgetLink(scope, new Shelf(openDrawer(), ownPrefix(scope), () => undefined));
