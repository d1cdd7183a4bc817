const escapes: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text as it may stand in the content or in a quoted attribute of XML and HTML. */
export function escapeMarkup(text: string): string {
  return xmlText(text).replace(/[&<>"']/g, (character) => escapes[character] ?? character);
}

/** Text without the characters that are no part of XML 1.0 (section 2.2), not even as references. */
export function xmlText(text: string): string {
  return text.replace(/[^\t\n\r\u0020-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, '');
}
