import { enableRowDragging } from './dragging.js';
import { focusKey, restoreFocus } from './focus.js';
import { openHistory } from './history.js';
import { enableStripSeek } from './strip.js';

/** Typing settles for this long before the session is drawn again. */
const settleMs = 70;
const retryMs = 2_000;

type Answer = { part: string };

/**
 * What the service is asked for. `redraw` draws the session of the fields as they are and leaves them alone; the
 * others rebuild the fields too.
 */
type Ask =
  | { kind: 'redraw'; action?: 'hear' }
  | { kind: 'act'; action: string }
  | { kind: 'restore'; state: URLSearchParams };

/**
 * Makes the prescribing form live: the session is drawn again after each change and kept as a draft on the way,
 * buttons of the list act at once, rows can be dragged, changes can be undone. Without this the same form works
 * through its buttons.
 */
export function startPrescribing(form: HTMLFormElement): void {
  const previewAddress = form.dataset.preview;
  const work = form.querySelector<HTMLElement>('[data-work]');
  if (previewAddress === undefined || work === null) return;
  const address = previewAddress;
  const area = work;
  const history = openHistory(form, (state) => ask({ kind: 'restore', state }));
  let running: AbortController | undefined;
  let timer: ReturnType<typeof setTimeout> | undefined;
  /** An action that the service has not been reached for; it goes along with the next attempt. */
  let owed: Ask | undefined;
  /** Where to play from once there is something to hear. */
  let playFromSeconds: number | undefined;

  async function ask(what: Ask): Promise<void> {
    running?.abort();
    clearTimeout(timer);
    const request = new AbortController();
    running = request;
    const focus = focusKey();
    const body = bodyOf(what);
    area.setAttribute('aria-busy', 'true');
    // No one types into fields that are about to be replaced.
    area.inert = what.kind !== 'redraw';
    try {
      const response = await fetch(address, { method: 'POST', body, signal: request.signal });
      if (response.redirected || (response.status >= 400 && response.status < 500)) return tell('refused');
      if (response.status === 503 && what.kind === 'redraw' && what.action === 'hear') return tell('busy');
      if (!response.ok) throw new Error(String(response.status));
      const answer: Answer = await response.json();
      area.inert = false;
      show(answer.part, what, focus);
      owed = undefined;
      tell(null);
    } catch {
      if (request.signal.aborted) return;
      // The work is still in the page; it is sent as soon as the service can be reached again.
      tell('away');
      if (what.kind === 'act') owed = what;
      timer = setTimeout(() => ask(what), retryMs);
    } finally {
      if (running === request) {
        area.inert = false;
        area.removeAttribute('aria-busy');
      }
    }
  }

  function bodyOf(what: Ask): URLSearchParams {
    if (what.kind === 'restore') return what.state;
    const body = current();
    if (what.action !== undefined) body.set('do', what.action);
    return body;
  }

  function current(): URLSearchParams {
    const fields = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (typeof value === 'string') fields.append(name, value);
    return fields;
  }

  function show(part: string, what: Ask, focus: string | null): void {
    const parsed = new DOMParser().parseFromString(part, 'text/html');
    if (what.kind === 'redraw') {
      // The fields stay as they are, so that whoever types in one keeps it.
      for (const next of parsed.querySelectorAll('[data-redraw]')) {
        const shown = area.querySelector(`#${next.id}`);
        // What is the same stays, with its pictures and where it was scrolled to.
        if (shown?.isEqualNode(next) === false) shown.replaceWith(next);
      }
    } else {
      area.replaceChildren(...parsed.body.childNodes);
    }
    restoreFocus(area, focus);
    if (what.kind === 'act') history.remember(current());
    enableStripSeek(form, hearFrom);
    const audio = form.querySelector<HTMLAudioElement>('[data-audio]');
    if (audio === null || playFromSeconds === undefined) return;
    audio.currentTime = playFromSeconds;
    playFromSeconds = undefined;
    audio.play();
  }

  /** Says that the last change has not arrived, and why. */
  function tell(why: 'away' | 'refused' | 'busy' | null): void {
    form.toggleAttribute('data-unsent', why !== null);
    for (const note of form.querySelectorAll<HTMLElement>('[data-unsent-note]'))
      note.hidden = note.dataset.unsentNote !== why;
  }

  function hearFrom(seconds: number | undefined): void {
    playFromSeconds = seconds;
    const status = area.querySelector<HTMLElement>('[data-hear-status]');
    if (status !== null) status.textContent = status.dataset.hearStatus ?? '';
    ask({ kind: 'redraw', action: 'hear' });
  }

  function settle(): void {
    clearTimeout(timer);
    timer = setTimeout(() => {
      // An action under way is waited for: drawing the old fields now would undo it.
      if (area.inert) return settle();
      history.remember(current());
      ask(owed ?? { kind: 'redraw' });
    }, settleMs);
  }

  form.addEventListener('input', settle);
  form.addEventListener('submit', (event) => {
    const action = event.submitter?.getAttribute('value') ?? '';
    if (/^(sign|discard)$/.test(action)) {
      // The page is left with all of it: nothing is sent behind.
      clearTimeout(timer);
      running?.abort();
    }
    if (!/^(up|down|remove|leave-out|add|update|find|hear)\b/.test(action)) return;
    event.preventDefault();
    if (action === 'hear') hearFrom(undefined);
    else ask({ kind: 'act', action });
  });
  enableRowDragging(area, (action) => ask({ kind: 'act', action }));
  enableStripSeek(form, hearFrom);
  history.remember(current());
}
