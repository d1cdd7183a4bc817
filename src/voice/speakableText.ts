/**
 * Returns text in a form that is safe for every engine: one line, no control characters, no leading hyphen (which a
 * program could read as an option), no doubled square brackets (which some engines read as a command). Nothing audible
 * is removed. The result may be empty.
 */
export function speakableText(text: string): string {
  return text
    .normalize('NFC')
    .replace(/\p{Cf}/gu, '')
    .replace(/[\p{Cc}\p{Cs}\p{Zl}\p{Zp}\uFFFD]/gu, ' ')
    .replaceAll(/\[{2,}|\]{2,}/g, ' ')
    .replace(/\s+/g, ' ')
    .replace(/^[\s\p{Pd}]+/u, '')
    .trimEnd();
}
