/** The sentences of the page's template, with `[name]` as placeholders. */
export class Words {
  readonly #sentences: ReadonlyMap<string, string>;

  /**
   * @param template contains one element with `data-word` for each sentence
   */
  constructor(template: HTMLTemplateElement) {
    this.#sentences = new Map(
      [...template.content.querySelectorAll<HTMLElement>('[data-word]')].map((element) => [
        element.dataset.word ?? '',
        element.textContent ?? '',
      ]),
    );
  }

  /**
   * Returns a sentence with its values filled in.
   *
   * @throws RangeError for a sentence that the template does not have
   */
  say(key: string, values: Record<string, string | number> = {}): string {
    const sentence = this.#sentences.get(key);
    if (sentence === undefined) throw new RangeError(`there is no sentence ${key}`);
    return sentence.replace(/\[(\w+)\]/g, (_, name: string) => String(values[name] ?? ''));
  }

  /** Returns a sentence with a number in it, in its singular or plural form. */
  count(key: string, count: number, values: Record<string, string | number> = {}): string {
    return this.say(count === 1 ? `${key}-one` : key, { count, ...values });
  }
}
