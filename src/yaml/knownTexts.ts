/**
 * The parsed values of the project's own texts: the words and the starter programs. They are read at each start, by
 * each page that offers a starter, and by hundreds of tests; parsing the YAML takes a service most of a second, and a
 * value from here takes no time. The text itself is the key, so a changed file is a new entry. Text that a person wrote
 * is never stored here.
 */
const values = new Map<string, unknown>();

/** Several times the number of the project's own files. */
const mostKept = 400;

/** Returns the value of a text that was parsed before; do not modify it. Undefined for any other text. */
export function knownValue(text: string): unknown {
  return values.get(text);
}

/** @param value the parsed text */
export function learnValue(text: string, value: unknown): void {
  if (values.size >= mostKept) values.clear();
  values.set(text, value);
}
