import { findWarningWords, type WarningWords } from '../../listening/findWarningWords.js';
import { onPress, requireElement } from './dom.js';
import type { Listening } from './listening.js';
import type { Parts } from './parts.js';
import { showSignAdvice } from './signs.js';

/** `told`: a warning sign was reported to the clinic. `kept`: it stays a note. */
type Chosen = 'told' | 'kept';

/** Returns the page's words that may name a sign; none for a page from before they existed. */
function pageWords(): WarningWords {
  const text = document.querySelector('#warning-words')?.textContent ?? '';
  return text === '' ? { misspelled: [], lookAlikes: [], harmless: [], groups: [] } : JSON.parse(text);
}

/**
 * Watches a note while it is written. If it may mention a warning sign, the listener is told at once that possibly
 * nobody reads the note today.
 */
export class NoteWords {
  readonly #parts: Parts;
  readonly #listening: Listening;
  readonly #field: HTMLTextAreaElement;
  readonly #words = pageWords();
  /** The signs and words for which the notice was already given. */
  readonly #alreadyWarned = new Set<string>();

  constructor(parts: Parts, listening: Listening, form: HTMLFormElement) {
    this.#parts = parts;
    this.#listening = listening;
    this.#field = requireElement<HTMLTextAreaElement>(form, 'textarea[name="note"]');
  }

  /** Shows the notice next to the field while a view is open. */
  watch(form: HTMLFormElement, signal: AbortSignal): void {
    const notice = requireElement(form, '[data-note-words]');
    const show = () => {
      notice.hidden = this.#found().length === 0;
    };
    this.#field.addEventListener('input', show, { signal });
    show();
  }

  /** Stores a note with words that may name a sign, however the listener leaves it. */
  keep(): void {
    if (this.#found().length === 0) return;
    const note = this.#field.value.trim();
    if (note !== this.#listening.answers.note) this.#listening.answer({ note });
  }

  /**
   * Stores the note if its words may name a sign that the notice has not been given for, and says that a note is not a
   * call for help.
   *
   * @returns whether the questions may continue
   */
  async check(): Promise<boolean> {
    this.keep();
    const found = this.#found();
    if (found.every(({ sign, said }) => this.#alreadyWarned.has(`${sign} ${said}`))) return true;
    for (const { sign, said } of found) this.#alreadyWarned.add(`${sign} ${said}`);
    if ((await this.#sayNoCall()) === 'kept') return true;
    const signs = [...new Set(found.map(({ sign }) => sign))];
    this.#listening.warn(signs);
    return (await showSignAdvice(this.#parts, this.#listening, signs)) === 'other';
  }

  #found() {
    return findWarningWords(this.#field.value, this.#words);
  }

  #sayNoCall(): Promise<Chosen> {
    const { views, prompts } = this.#parts;
    const { person } = this.#listening;
    return views.run<Chosen>('note-words', { back: () => 'kept' }, ({ element, signal, finish }) => {
      const say = () => prompts.say(person.id, 'note-no-call');
      onPress(element, '[data-do="tell"]', signal, () => finish('told'));
      onPress(element, '[data-do="keep"]', signal, () => finish('kept'));
      onPress(element, '[data-do="say"]', signal, say);
      signal.addEventListener('abort', () => prompts.hush());
      say();
    });
  }
}
