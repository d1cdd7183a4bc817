const spelledOut: Readonly<Record<string, string>> = {
  '‘': "'",
  '’': "'",
  '“': '"',
  '”': '"',
  '–': ', ',
  '—': ', ',
  '…': '. ',
  '½': ' and a half',
  '°': ' degrees',
  '×': ' times',
  ß: 'ss',
  æ: 'ae',
  Æ: 'Ae',
  œ: 'oe',
  Œ: 'Oe',
  ø: 'o',
  Ø: 'O',
  ł: 'l',
  Ł: 'L',
  đ: 'd',
  Đ: 'D',
  ð: 'th',
  þ: 'th',
};

/**
 * Returns the text in the plain letters that Flite knows: accents are removed, other scripts are left out. The result
 * may be empty.
 */
export function asciiText(text: string): string {
  return text
    .replace(/\P{ASCII}/gu, (character) => spelledOut[character] ?? character)
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/\P{ASCII}/gu, ' ')
    .replace(/\s+/g, ' ')
    .replace(/ ([,.;:!?])/g, '$1')
    .trim();
}

/**
 * Returns the letters and digits that {@link asciiText} would leave out or change in meaning; empty when there are
 * none.
 */
export function unspeakableCharacters(text: string): string[] {
  const lost = [...text].filter(
    (character) => /[\p{L}\p{N}]/u.test(character) && !/[A-Za-z0-9]/.test(asciiText(character)),
  );
  return [...new Set(lost)];
}
