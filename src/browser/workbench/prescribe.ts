import { enableRowDragging } from './dragging.js';
import { focusKey, restoreFocus } from './focus.js';
import { openHistory } from './history.js';
import { enableStripSeek } from './strip.js';

/** How long to wait after typing before the session is drawn again. */
const settleMs = 70;
const retryMs = 2_000;

type Answer = { part: string };

/**
 * A request to the service. `redraw` draws the session for the current fields and leaves them alone; the others rebuild
 * the fields too.
 */
type Ask =
  | { kind: 'redraw'; action?: 'hear' }
  | { kind: 'act'; action: string }
  | { kind: 'restore'; state: URLSearchParams };

/**
 * Makes the prescribing form live: each change redraws the session and saves it as a draft, the list's buttons act at
 * once, rows can be dragged, and changes can be undone. Without this script the same form works through its buttons.
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
  /** An action that has not reached the service; it is sent with the next attempt. */
  let owed: Ask | undefined;
  /** Where to start playing once there is sound. */
  let playFromSeconds: number | undefined;

  async function ask(what: Ask): Promise<void> {
    running?.abort();
    clearTimeout(timer);
    const request = new AbortController();
    running = request;
    const focus = focusKey();
    const body = bodyOf(what);
    area.setAttribute('aria-busy', 'true');
    // Fields that are about to be replaced must not accept input.
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
      // The draft is still in the page; it is sent as soon as the service can be reached again.
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
      // The fields stay as they are, so that someone typing in one is not interrupted.
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

  /** Shows that the last change has not arrived, and why. */
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
      // Wait for an action in progress, because drawing the old fields now would undo it.
      if (area.inert) return settle();
      history.remember(current());
      ask(owed ?? { kind: 'redraw' });
    }, settleMs);
  }

  form.addEventListener('input', settle);
  form.addEventListener('submit', (event) => {
    const action = event.submitter?.getAttribute('value') ?? '';
    if (/^(sign|discard)$/.test(action)) {
      // Submitting the form sends everything, so nothing more is sent afterward.
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
