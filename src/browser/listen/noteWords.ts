import { findWarningWords, type WarningWords } from '../../listening/findWarningWords.js';
import { onPress, requireElement } from './dom.js';
import type { Listening } from './listening.js';
import type { Parts } from './parts.js';
import { showSignAdvice } from './signs.js';

/** `told`: the clinic was told of a warning sign. `kept`: it stays a note. */
type Chosen = 'told' | 'kept';

/** The words of the page that may name a sign; none where it is of before there were any. */
function pageWords(): WarningWords {
  const text = document.querySelector('#warning-words')?.textContent ?? '';
  return text === '' ? { misspelled: [], lookAlikes: [], harmless: [], groups: [] } : JSON.parse(text);
}

/**
 * Watches a note while it is written: whoever writes of a warning sign is told at once that no one may read it today.
 */
export class NoteWords {
  readonly #parts: Parts;
  readonly #listening: Listening;
  readonly #field: HTMLTextAreaElement;
  readonly #words = pageWords();
  /** For which words it was said. */
  readonly #said = new Set<string>();

  constructor(parts: Parts, listening: Listening, form: HTMLFormElement) {
    this.#parts = parts;
    this.#listening = listening;
    this.#field = requireElement<HTMLTextAreaElement>(form, 'textarea[name="note"]');
  }

  /** Shows it beside the field as long as a view is open. */
  watch(form: HTMLFormElement, signal: AbortSignal): void {
    const notice = requireElement(form, '[data-note-words]');
    const show = () => {
      notice.hidden = this.#found().length === 0;
    };
    this.#field.addEventListener('input', show, { signal });
    show();
  }

  /** Words that may name a sign are told, however the note is left. */
  keep(): void {
    if (this.#found().length === 0) return;
    const note = this.#field.value.trim();
    if (note !== this.#listening.answers.note) this.#listening.answer({ note });
  }

  /**
   * Keeps the note where its words may name a sign that it was not said of yet, and says that it is no call for help.
   *
   * @returns whether the questions may go on
   */
  async check(): Promise<boolean> {
    this.keep();
    const found = this.#found();
    if (found.every(({ sign, said }) => this.#said.has(`${sign} ${said}`))) return true;
    for (const { sign, said } of found) this.#said.add(`${sign} ${said}`);
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
