/**
 * What texts of the house mean: the words and the starter programs. They are read at each start, by each page that
 * offers a starter, and by hundreds of tests; YAML takes a service most of a second, and a value from here none. The
 * text itself is the key, so that a changed file is another one. What a person wrote never stands here.
 */
const values = new Map<string, unknown>();

/** Several times the files of the house. */
const mostKept = 400;

/** The value of a text that was read before, not to be changed; undefined for any other. */
export function knownValue(text: string): unknown {
  return values.get(text);
}

/** @param value what a YAML reader makes of the text */
export function learnValue(text: string, value: unknown): void {
  if (values.size >= mostKept) values.clear();
  values.set(text, value);
}
