const escapes: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text as it may stand in the content or in a quoted attribute of XML and HTML. */
export function escapeMarkup(text: string): string {
  // Control characters are no part of XML 1.0 (section 2.2), not even as references.
  return text
    .replace(/[^\t\n\r\u0020-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, '')
    .replace(/[&<>"']/g, (character) => escapes[character] ?? character);
}
