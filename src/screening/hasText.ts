/** Returns whether a text has a letter or a digit, not only spaces and punctuation. */
export function hasText(text: string): boolean {
  return /[\p{L}\p{N}]/u.test(text);
}
