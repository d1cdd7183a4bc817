const escapes: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Escapes text for the content or a quoted attribute of XML and HTML. */
export function escapeMarkup(text: string): string {
  return xmlText(text).replace(/[&<>"']/g, (character) => escapes[character] ?? character);
}

/** Removes the characters that XML 1.0 does not allow (section 2.2), not even as references. */
export function xmlText(text: string): string {
  return text.replace(/[^\t\n\r\u0020-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu, '');
}
