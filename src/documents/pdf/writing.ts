import bidiFactory, { type Bidi } from 'bidi-js';
import type { Face, Letters } from './letters.js';

/** The module exports the function itself; its types describe a build that Node.js does not load. */
const bidi = (bidiFactory as unknown as () => Bidi)();
const letterSplitter = new Intl.Segmenter('en', { granularity: 'grapheme' });

/** Letters of one font and one direction; `actualText` is the original text, where the shapes are in another order. */
type Piece = { face: Face; text: string; width: number; actualText: string | null };

/** One line, with its pieces in visual order. */
export type Line = { pieces: readonly Piece[]; width: number; isFromRight: boolean };

/** `boldTo`: how far a lead in bold goes, in code units of the text; none where it is left out. */
export type Style = { size: number; isBold: boolean; boldTo?: number };

type Letter = { text: string; face: Face; at: number };

/** Invisible direction marks and variant selectors, which could reverse a line unnoticed. */
const unseen = /[\u00AD\u061C\u200B\u200E\u200F\u202A-\u202E\u2060-\u2069\uFEFF]|[\uFE00-\uFE0F]/gu;
const fromRight = /^[RA]L?$/;

/**
 * Normalizes a text and replaces every character that no font has by its number, such as `[U+1F642]`, so that a name
 * never prints as an empty box.
 */
export function printable(text: string, letters: Letters): { text: string; isWhole: boolean } {
  let isWhole = true;
  const plain = text
    .normalize('NFC')
    .replace(unseen, '')
    .replace(/(?!\n)[\s\p{Cc}]/gu, ' ');
  const all = [...letterSplitter.segment(plain)].map(({ segment }) => {
    if (segment === '\n' || letters.faceFor(segment, false) !== null) return segment;
    isWhole = false;
    return numbered(segment);
  });
  return { text: all.join(''), isWhole };
}

function numbered(letter: string): string {
  const numbers = [...letter].map(
    (part) => `U+${(part.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}`,
  );
  return `[${numbers.join(' ')}]`;
}

/**
 * Breaks a text into lines of a width, in the visual order of Unicode's bidirectional algorithm (UAX 9). Lines break at
 * spaces, and within a word only if it is longer than a line.
 *
 * @param text as returned by {@link printable}
 * @param width in the same unit as the font size
 */
export function breakIntoLines(text: string, style: Style, width: number, letters: Letters): Line[] {
  return text.split('\n').flatMap((paragraph) => {
    const all = lettersOf(paragraph, style, letters);
    const { levels, paragraphs } = bidi.getEmbeddingLevels(paragraph, 'auto');
    const base = paragraphs[0]?.level ?? 0;
    return broken(all, style, width).map((line) => lineOf(line, levels, base, style));
  });
}

function lettersOf(paragraph: string, { isBold, boldTo = 0 }: Style, letters: Letters): Letter[] {
  return [...letterSplitter.segment(paragraph)].flatMap(({ segment, index }) => {
    const face = letters.faceFor(segment, isBold || index < boldTo);
    return face === null ? [] : [{ text: segment, face, at: index }];
  });
}

function broken(letters: readonly Letter[], style: Style, width: number): Letter[][] {
  const lines: Letter[][] = [];
  let line: Letter[] = [];
  let lineWidth = 0;
  const begin = () => {
    if (line.length > 0) lines.push(line);
    line = [];
    lineWidth = 0;
  };
  for (const word of wordsOf(letters)) {
    const visible = widthOf(
      word.filter(({ text }) => text !== ' '),
      style,
    );
    if (line.length > 0 && lineWidth + visible > width) begin();
    if (visible > width) {
      for (const letter of word) {
        const more = widthOf([letter], style);
        if (line.length > 0 && letter.text !== ' ' && lineWidth + more > width) begin();
        line.push(letter);
        lineWidth += more;
      }
    } else {
      line.push(...word);
      lineWidth += widthOf(word, style);
    }
  }
  begin();
  return lines;
}

/** Splits letters into words, each with the spaces after it. */
function wordsOf(letters: readonly Letter[]): Letter[][] {
  const words: Letter[][] = [];
  letters.forEach((letter, index) => {
    const startsWord = index === 0 || (letters[index - 1]?.text === ' ' && letter.text !== ' ');
    if (startsWord) words.push([letter]);
    else words.at(-1)?.push(letter);
  });
  return words;
}

type Item = { letters: Letter[]; level: number; face: Face };

function lineOf(letters: readonly Letter[], levels: Uint8Array, base: number, style: Style): Line {
  const lastSeen = letters.findLastIndex(({ text }) => text !== ' ');
  const items = grouped(letters, (letter, index) => (index > lastSeen ? base : (levels[letter.at] ?? base)));
  const pieces = reordered(items).map((item) => pieceOf(item, style));
  const width = pieces.reduce((sum, piece) => sum + piece.width, 0);
  return { pieces, width, isFromRight: base % 2 === 1 };
}

function grouped(letters: readonly Letter[], levelOf: (letter: Letter, index: number) => number): Item[] {
  const items: Item[] = [];
  letters.forEach((letter, index) => {
    const level = levelOf(letter, index);
    const last = items.at(-1);
    if (last !== undefined && last.level === level && last.face === letter.face) last.letters.push(letter);
    else items.push({ letters: [letter], level, face: letter.face });
  });
  return items;
}

/** Applies rule L2 of UAX 9 to items of one level each. */
function reordered(items: readonly Item[]): Item[] {
  const ordered = [...items];
  const highest = Math.max(0, ...items.map(({ level }) => level));
  for (let level = highest; level > 0; level -= 1) {
    let start = 0;
    while (start < ordered.length) {
      let end = start;
      while (end < ordered.length && (ordered[end]?.level ?? 0) >= level) end += 1;
      ordered.splice(start, end - start, ...ordered.slice(start, end).reverse());
      start = end + 1;
    }
  }
  return ordered;
}

/** Makes a piece. A font that joins letters reverses right-to-left text itself; for other fonts it is reversed here. */
function pieceOf({ letters, level, face }: Item, { size }: Style): Piece {
  const isTurned = level % 2 === 1;
  const turnsItself = letters.some(({ text }) => fromRight.test(bidi.getBidiCharTypeName(text.charAt(0))));
  const texts = letters.map(({ text }) => (isTurned ? (bidi.getMirroredCharacter(text) ?? text) : text));
  const text = (isTurned && !turnsItself ? texts.reverse() : texts).join('');
  const shown = face.joins ? text : text.replace(/[\u200C\u200D]/gu, '');
  const isJoined = !isTurned && face.font.layout(shown, []).glyphs.length !== [...shown].length;
  const actualText = isJoined ? letters.map((letter) => letter.text).join('') : null;
  return { face, text: shown, width: advance(shown, face) * size, actualText };
}

function widthOf(letters: readonly Letter[], { size }: Style): number {
  const ems = grouped(letters, () => 0).map((item) =>
    advance(item.letters.map(({ text }) => text).join(''), item.face),
  );
  return ems.reduce((sum, each) => sum + each, 0) * size;
}

/** Words repeat, so their widths are cached; the cache is cleared when it reaches this size. */
const mostKnown = 5_000;
const known = new WeakMap<Face, Map<string, number>>();

/** Returns the width of a text in ems. */
function advance(text: string, face: Face): number {
  const ofFace = known.get(face) ?? new Map<string, number>();
  if (ofFace.size >= mostKnown) ofFace.clear();
  known.set(face, ofFace);
  const found = ofFace.get(text) ?? face.font.layout(text, []).advanceWidth / face.font.unitsPerEm;
  ofFace.set(text, found);
  return found;
}
