import { openHistory } from './history.js';
import { letStripSeek } from './strip.js';

/** Typing settles for this long before the session is drawn again. */
const settleMs = 120;
const retryMs = 2_000;

type Answer = { part: string };

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
  const history = openHistory(form, (state) => send(state, 'all'));
  let running: AbortController | undefined;
  let timer: ReturnType<typeof setTimeout> | undefined;

  async function send(body: URLSearchParams, replace: 'all' | 'drawing'): Promise<void> {
    running?.abort();
    const request = new AbortController();
    running = request;
    area.setAttribute('aria-busy', 'true');
    try {
      const response = await fetch(address, { method: 'POST', body, signal: request.signal });
      if (!response.ok) throw new Error(String(response.status));
      const answer: Answer = await response.json();
      show(answer.part, replace);
      area.removeAttribute('aria-busy');
      form.removeAttribute('data-unsent');
    } catch {
      if (request.signal.aborted) return;
      // The work is still in the page; it is sent as soon as the service can be reached again.
      form.setAttribute('data-unsent', '');
      timer = setTimeout(() => send(current(), replace), retryMs);
    }
  }

  function current(): URLSearchParams {
    const fields = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (typeof value === 'string') fields.append(name, value);
    return fields;
  }

  function show(part: string, replace: 'all' | 'drawing'): void {
    const parsed = new DOMParser().parseFromString(part, 'text/html');
    const focusName = document.activeElement?.getAttribute('aria-label') ?? null;
    if (replace === 'all') {
      area.replaceChildren(...parsed.body.childNodes);
      restoreFocus(focusName);
    } else {
      // The fields stay as they are, so that whoever types in one keeps it.
      for (const id of ['drawing']) {
        const now = area.querySelector(`#${id}`);
        const next = parsed.querySelector(`#${id}`);
        if (now !== null && next !== null && !now.contains(document.activeElement)) now.replaceWith(next);
      }
    }
    letStripSeek(form);
  }

  function tellThatItSpeaks(): void {
    const status = area.querySelector('[data-hear-status]');
    if (status !== null)
      status.textContent = 'The voice is speaking the new sentences. This can take a quarter of a minute.';
  }

  function restoreFocus(label: string | null): void {
    if (label === null) return;
    const same = [...area.querySelectorAll<HTMLElement>('[aria-label]')].find(
      (element) => element.getAttribute('aria-label') === label,
    );
    same?.focus();
  }

  function act(action: string): void {
    const body = current();
    body.set('do', action);
    send(body, 'all').then(() => history.remember(current()));
  }

  form.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      const body = current();
      history.remember(body);
      send(body, 'drawing');
    }, settleMs);
  });
  form.addEventListener('submit', (event) => {
    const action = event.submitter?.getAttribute('value') ?? '';
    if (!/^(up|down|remove|move|add|update|hear)\b/.test(action)) return;
    event.preventDefault();
    if (action === 'hear') tellThatItSpeaks();
    act(action);
  });
  letRowsBeDragged(area, act);
  letStripSeek(form);
  history.remember(current());
}

/** Dragging is for the mouse; the buttons "Up" and "Down" do the same for everyone. */
function letRowsBeDragged(area: HTMLElement, act: (action: string) => void): void {
  let from: number | null = null;
  const rowIndex = (event: Event) => {
    const row = event.target instanceof Element ? event.target.closest('[data-row]') : null;
    return row === null ? null : [...area.querySelectorAll('[data-row]')].indexOf(row);
  };
  area.addEventListener('dragstart', (event) => {
    from = rowIndex(event);
  });
  area.addEventListener('dragover', (event) => {
    if (from !== null && rowIndex(event) !== null) event.preventDefault();
  });
  area.addEventListener('drop', (event) => {
    const to = rowIndex(event);
    if (from !== null && to !== null && from !== to) act(`move:${from}:${to}`);
    from = null;
    event.preventDefault();
  });
}
