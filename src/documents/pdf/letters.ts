import { create, type Font } from 'fontkit';
import { mapShapesToText } from './tellingShapes.js';

/** A font; fonts are tried in order until one has the letter. */
export type FontFile = {
  name: string;
  /** Matches the letters that the font may have; it is not opened for any others. */
  mayHave: RegExp;
  /** Returns the bytes of an OpenType font; called once, when a letter first needs it. */
  regular: () => Uint8Array;
  bold: () => Uint8Array;
  /** Whether it joins letters as their script requires; a font that does not has no use for joining characters. */
  joins: boolean;
};

/** An opened font of one weight. */
export type Face = { name: string; font: Font; joins: boolean };

/** Characters that control how neighbors are joined and have no shape of their own (Unicode 16, 5.21). */
const joiners = /[\u200C\u200D]/u;

/**
 * The fonts of all documents. Each is opened when a letter first needs it, and used only for letters that the fonts
 * before it lack.
 */
export class Letters {
  readonly #files: readonly FontFile[];
  readonly #faces = new Map<string, Face>();
  readonly #known = new Map<string, Face | null>();

  constructor(files: readonly FontFile[]) {
    this.#files = files;
  }

  /**
   * Returns the first font that has every part of a letter; a letter includes its combining marks, as in Unicode's
   * grapheme clusters.
   *
   * @returns null when no font has it
   */
  faceFor(letter: string, isBold: boolean): Face | null {
    const key = `${isBold} ${letter}`;
    const known = this.#known.get(key);
    if (known !== undefined) return known;
    const found = this.#search(letter, isBold);
    this.#known.set(key, found);
    return found;
  }

  #search(letter: string, isBold: boolean): Face | null {
    const parts = [...letter].filter((part) => !joiners.test(part)).map((part) => part.codePointAt(0) ?? 0);
    for (const file of this.#files.filter(({ mayHave }) => mayHave.test(letter))) {
      const face = this.#face(file, isBold);
      if (parts.every((part) => face.font.hasGlyphForCodePoint(part))) return face;
    }
    return null;
  }

  #face(file: FontFile, isBold: boolean): Face {
    const name = `${file.name}${isBold ? ' bold' : ''}`;
    const known = this.#faces.get(name);
    if (known !== undefined) return known;
    const font = create(Buffer.from(isBold ? file.bold() : file.regular()));
    if (!('layout' in font)) throw new RangeError(`${file.name} holds several fonts`);
    const face = { name, font: mapShapesToText(font), joins: file.joins };
    this.#faces.set(name, face);
    return face;
  }
}
