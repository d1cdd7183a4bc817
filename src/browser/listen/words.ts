/** Sentences of the page's template, in which `[name]` stands for a value. */
export class Words {
  readonly #sentences: ReadonlyMap<string, string>;

  /** @param template holds one element with `data-word` for each sentence */
  constructor(template: HTMLTemplateElement) {
    this.#sentences = new Map(
      [...template.content.querySelectorAll<HTMLElement>('[data-word]')].map((element) => [
        element.dataset.word ?? '',
        element.textContent ?? '',
      ]),
    );
  }

  /** @throws RangeError for a sentence that the template does not have */
  say(key: string, values: Record<string, string | number> = {}): string {
    const sentence = this.#sentences.get(key);
    if (sentence === undefined) throw new RangeError(`there is no sentence ${key}`);
    return sentence.replace(/\[(\w+)\]/g, (_, name: string) => String(values[name] ?? ''));
  }

  /** A sentence with a number in it, in its form for one or for several. */
  count(key: string, count: number, values: Record<string, string | number> = {}): string {
    return this.say(count === 1 ? `${key}-one` : key, { count, ...values });
  }
}
