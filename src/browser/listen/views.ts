import { requireElement } from './dom.js';
import { lastOf } from './lists.js';
import { markViewChange } from './steady.js';

/** A view while it is open. `finish` closes it; its event listeners end with `signal`. */
export type OpenView<Result> = {
  element: HTMLElement;
  signal: AbortSignal;
  finish(result: Result): void;
};

type Layer = { name: string; element: HTMLElement; back: (() => void) | null; again: () => void };

/**
 * Shows one view of the page at a time. Closing a view that was opened on top of another shows that one again. The
 * phone's own "back" closes the view on top.
 */
export class Views {
  readonly #main: HTMLElement;
  readonly #layers: Layer[] = [];
  #hasEntry = false;

  constructor(main: HTMLElement) {
    this.#main = main;
    window.addEventListener('popstate', () => this.#back());
  }

  /** The name of the visible view. */
  get current(): string | null {
    return lastOf(this.#layers)?.name ?? null;
  }

  isOpen(name: string): boolean {
    return this.#layers.some((layer) => layer.name === name);
  }

  /**
   * Opens a view and resolves with the value that it finishes with.
   *
   * @param back returns the value for the phone's "back"; null leaves the page
   * @param again called when the view is visible again after another one
   */
  run<Result>(
    name: string,
    { back, again = () => undefined }: { back: (() => Result) | null; again?: () => void },
    begin: (open: OpenView<Result>) => void,
  ): Promise<Result> {
    return new Promise((resolve) => {
      const element = requireElement(this.#main, `[data-view="${name}"]`);
      const closing = new AbortController();
      const finish = (result: Result) => {
        if (closing.signal.aborted) return;
        closing.abort();
        this.#layers.splice(this.#layers.indexOf(layer), 1);
        const below = lastOf(this.#layers);
        if (below !== undefined) {
          this.#show(below);
          below.again();
        }
        resolve(result);
      };
      const layer: Layer = { name, element, again, back: back === null ? null : () => finish(back()) };
      this.#layers.push(layer);
      if (back !== null) this.#makeEntry();
      begin({ element, signal: closing.signal, finish });
      if (!closing.signal.aborted) this.#show(layer);
    });
  }

  /** Closes all views opened on top of a view, each as "back" would. */
  closeAbove(name: string): void {
    for (let top = lastOf(this.#layers); top !== undefined && top.name !== name; top = lastOf(this.#layers)) {
      if (top.back === null) return;
      top.back();
    }
  }

  #show({ name, element }: Layer): void {
    for (const view of this.#main.querySelectorAll<HTMLElement>('[data-view]'))
      view.hidden = view !== element;
    // Before the first view, someone may still be using the plain page, which then does not count as a change of view.
    if (document.body.dataset.shows !== undefined) markViewChange();
    document.body.dataset.shows = name;
    window.scrollTo(0, 0);
    const heading = element.querySelector<HTMLElement>('[data-heading]:not([hidden] *)');
    heading?.focus({ preventScroll: true });
  }

  /** Makes one history entry for all views that "back" closes. */
  #makeEntry(): void {
    if (this.#hasEntry) return;
    history.pushState(null, '');
    this.#hasEntry = true;
  }

  #back(): void {
    this.#hasEntry = false;
    const top = lastOf(this.#layers);
    // The views of this entry are already closed, so "back" is meant for the page itself.
    if (top?.back === null) history.back();
    else top?.back();
    if (lastOf(this.#layers)?.back) this.#makeEntry();
  }
}
