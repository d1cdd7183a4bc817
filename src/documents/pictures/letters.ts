import { escapeMarkup } from '../markup.js';

/** Height of the letters of all pictures, in units of their view box. */
export const letterSize = 13;
export const lineHeight = 18;

const wide = /[mwMW@%&\u2026\u2014]/u;
/** From here on, scripts have letters as wide as they are high; emoji too. */
const firstSquareLetter = 0x1100;

/**
 * How much room a text takes, rather too much than too little: which font a page has is not known here. Sans-serif
 * letters are about half as wide as they are high (measured for the house's own font in the tests).
 */
export function textWidth(text: string): number {
  let width = 0;
  for (const letter of text) {
    const code = letter.codePointAt(0) ?? 0;
    width +=
      code >= firstSquareLetter && letter !== '\u2026' && letter !== '\u2014'
        ? 1.1
        : wide.test(letter)
          ? 1
          : 0.68;
  }
  return width * letterSize;
}

/** A text in lines that fit a width; words that are longer than a line are cut where they must be. */
export function wrapText(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = '';
  const take = (piece: string) => {
    if (line !== '' && textWidth(`${line} ${piece}`) > width) {
      lines.push(line);
      line = '';
    }
    line = line === '' ? piece : `${line} ${piece}`;
  };
  for (const word of text.split(/\s+/u).filter((each) => each !== '')) {
    for (const piece of cut(word, width)) take(piece);
  }
  return line === '' ? lines : [...lines, line];
}

function cut(word: string, width: number): string[] {
  if (textWidth(word) <= width) return [word];
  const pieces: string[] = [];
  let piece = '';
  for (const letter of word) {
    if (piece !== '' && textWidth(piece + letter) > width) {
      pieces.push(piece);
      piece = '';
    }
    piece += letter;
  }
  return [...pieces, piece];
}

/** One line of letters; `y` is where they stand. */
export function drawText(
  text: string,
  { x, y, anchor = 'start' }: { x: number; y: number; anchor?: 'start' | 'middle' | 'end' },
): string {
  const from = anchor === 'start' ? '' : ` text-anchor="${anchor}"`;
  return `<text x="${rounded(x)}" y="${rounded(y)}"${from}>${escapeMarkup(text)}</text>`;
}

export function rounded(value: number): number {
  return Math.round(value * 100) / 100;
}
