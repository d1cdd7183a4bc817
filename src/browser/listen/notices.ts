import type { ReportItem } from '../../listening/report.js';
import { onPress, requireElement } from './dom.js';
import type { KeptState } from './keeping.js';
import { markViewChange } from './steady.js';

const forEver = new AbortController().signal;
/** Reports that are sent within this time need no notice. */
const unsentAfterMs = 3_000;

/** Plain lines at the top of the page about anything that has gone wrong, until it is resolved. */
export class Notices {
  readonly #area: HTMLElement;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(area: HTMLElement) {
    this.#area = area;
    onPress(area, '[data-do="close"]', forEver, () => {
      this.#show('refused', false);
      this.#show('refused-warning', false);
      document.body.removeAttribute('data-must-read');
    });
  }

  unsent(count: number, holdsWarning: boolean): void {
    clearTimeout(this.#timer);
    const show = () => {
      this.#show('unsent', count > 0 && !holdsWarning);
      this.#show('unsent-warning', holdsWarning);
    };
    if (count === 0) show();
    else this.#timer = setTimeout(show, unsentAfterMs);
  }

  /** Shows which of the listener's reports the clinic will not get. A lost playing position needs no notice. */
  refused(items: readonly ReportItem[]): void {
    if (items.some(({ kind }) => kind === 'warning')) this.#showUnsentWarning();
    else if (items.some(({ kind }) => kind !== 'step')) this.#show('refused', true);
  }

  /** Shows that a warning will not reach the clinic from here; resolves when someone confirms that they have called. */
  unsentWarning(): Promise<void> {
    this.#showUnsentWarning();
    const close = requireElement(this.#area, '[data-notice="refused-warning"] [data-do="close"]');
    return new Promise((resolve) => close.addEventListener('click', () => resolve(), { once: true }));
  }

  /** Shows that the browser has no room for data that should outlive the page. */
  full(): void {
    this.#show('full', true);
  }

  gone(isGone: boolean): void {
    this.#show('gone', isGone);
  }

  kept(state: KeptState): void {
    for (const line of document.querySelectorAll<HTMLElement>('[data-kept]'))
      line.hidden = line.dataset.kept !== state;
  }

  /** Shows it on top of everything, because it must not wait behind a session. */
  #showUnsentWarning(): void {
    this.#show('refused-warning', true);
    document.body.toggleAttribute('data-must-read', true);
    markViewChange();
    window.scrollTo(0, 0);
  }

  #show(name: string, isShown: boolean): void {
    requireElement(this.#area, `[data-notice="${name}"]`).hidden = !isShown;
  }
}
