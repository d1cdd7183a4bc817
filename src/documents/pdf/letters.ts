import { create, type Font } from 'fontkit';
import { mapShapesToText } from './tellingShapes.js';

/** A font in the order in which it is asked for a letter. */
export type FontFile = {
  name: string;
  /** What it may have letters for: it is not even opened for others. */
  mayHave: RegExp;
  /** The tables of an OpenType font; asked for once, when a letter first needs it. */
  regular: () => Uint8Array;
  bold: () => Uint8Array;
  /** Whether it joins letters as their script wants it; one that does not has no use for signs that say how. */
  joins: boolean;
};

/** A font of one weight, opened. */
export type Face = { name: string; font: Font; joins: boolean };

/** Says how neighbors are joined, or which variant is meant, and has no shape of its own (Unicode 16, 5.21). */
const joiners = /[\u200C\u200D]/u;

/** The fonts of all papers: each is opened when a letter first needs it, and asked only for what those before lack. */
export class Letters {
  readonly #files: readonly FontFile[];
  readonly #faces = new Map<string, Face>();
  readonly #known = new Map<string, Face | null>();

  constructor(files: readonly FontFile[]) {
    this.#files = files;
  }

  /**
   * The first font that has every part of a letter, as Unicode takes a letter together with its marks.
   *
   * @returns null when there is none
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
