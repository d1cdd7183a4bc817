import { escapeMarkup } from '../markup.js';

/** Font size in all pictures, in units of their view box. */
export const letterSize = 13;
export const lineHeight = 18;

const wide = /[mwMW@%&\u2026\u2014]/u;
/** From this code point on, scripts (and emoji) have characters as wide as they are high. */
const firstSquareLetter = 0x1100;

/**
 * Estimates the width of a text, erring on the wide side because the page's font is not known here. Sans-serif letters
 * are about half as wide as they are high (the tests measure this for the font we ship).
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

/** Wraps a text into lines that fit a width; words longer than a line are broken. */
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

/** Draws one line of text; `y` is its baseline. */
export function drawText(
  text: string,
  { x, y, anchor = 'start' }: { x: number; y: number; anchor?: 'start' | 'middle' | 'end' },
): string {
  const from = anchor === 'start' ? '' : ` text-anchor="${anchor}"`;
  return `<text x="${rounded(x)}" y="${rounded(y)}"${from}>${escapeMarkup(text)}</text>`;
}

/** Rounds a coordinate, so that the SVG stays short. */
export function rounded(value: number): number {
  return Math.round(value * 100) / 100;
}
