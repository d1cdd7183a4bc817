import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { type FontFile, Letters } from '../documents/pdf/letters.js';
import { unpackedWoff } from '../files/woff.js';

const { resolve } = createRequire(import.meta.url);

const anyLetter = /./su;
const latin = /[\p{scx=Latin}\p{Sc}\p{P}]/u;

/**
 * Fonts in the order in which they are tried. Atkinson Hyperlegible is made for readers with low vision and has Latin
 * letters; Noto Sans joins the letters of the scripts that it has; Unifont has nearly every letter of Unicode's first
 * plane, including Chinese and Korean, in coarse shapes and without joining them.
 */
const fonts: readonly { family: string; subset: string; mayHave: RegExp; joins: boolean }[] = [
  { family: 'atkinson-hyperlegible', subset: 'latin', mayHave: anyLetter, joins: true },
  { family: 'atkinson-hyperlegible', subset: 'latin-ext', mayHave: latin, joins: true },
  { family: 'noto-sans', subset: 'latin-ext', mayHave: latin, joins: true },
  { family: 'noto-sans', subset: 'vietnamese', mayHave: latin, joins: true },
  { family: 'noto-sans', subset: 'cyrillic', mayHave: /\p{scx=Cyrillic}/u, joins: true },
  { family: 'noto-sans', subset: 'cyrillic-ext', mayHave: /\p{scx=Cyrillic}/u, joins: true },
  { family: 'noto-sans', subset: 'greek', mayHave: /\p{scx=Greek}/u, joins: true },
  { family: 'noto-sans', subset: 'greek-ext', mayHave: /\p{scx=Greek}/u, joins: true },
  { family: 'noto-sans', subset: 'devanagari', mayHave: /\p{scx=Devanagari}/u, joins: true },
  { family: 'noto-sans-hebrew', subset: 'hebrew', mayHave: /\p{scx=Hebrew}/u, joins: true },
  { family: 'noto-sans-arabic', subset: 'arabic', mayHave: /\p{scx=Arabic}/u, joins: true },
  { family: 'unifont', subset: 'latin', mayHave: anyLetter, joins: false },
];

/** Reads the fonts that documents are printed with. */
export async function readFonts(): Promise<Letters> {
  return new Letters(await Promise.all(fonts.map(readFont)));
}

async function readFont({ family, subset, mayHave, joins }: (typeof fonts)[number]): Promise<FontFile> {
  const read = (weight: 400 | 700) =>
    readFile(resolve(`@fontsource/${family}/files/${family}-${subset}-${weight}-normal.woff`));
  const packed = await read(400);
  const packedBold = family === 'unifont' ? packed : await read(700);
  return {
    name: `${family} ${subset}`,
    mayHave,
    regular: () => unpackedWoff(packed),
    bold: () => unpackedWoff(packedBold),
    joins,
  };
}
