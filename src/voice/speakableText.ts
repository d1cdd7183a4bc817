/**
 * Text in a form that is safe for every engine: one line, no control characters, no leading hyphen (which a
 * program could read as an option), no doubled square bracket (which some engines read as a command). None of
 * what is taken out can be heard. May be empty.
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
