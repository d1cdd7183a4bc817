import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { type FontFile, Letters } from '../documents/pdf/letters.js';
import { unpackedWoff } from '../files/woff.js';

const { resolve } = createRequire(import.meta.url);

/**
 * Asked in this order. Atkinson Hyperlegible is made for readers with low vision and has Latin letters; Noto Sans joins
 * the letters of the scripts that it has; Unifont has nearly every letter of Unicode's first plane, Chinese and Korean
 * too, in a coarse hand and without joining them.
 */
const fonts = [
  ...['latin', 'latin-ext'].map((subset) => ({ family: 'atkinson-hyperlegible', subset, joins: true })),
  ...['latin-ext', 'vietnamese', 'cyrillic', 'cyrillic-ext', 'greek', 'greek-ext', 'devanagari'].map(
    (subset) => ({
      family: 'noto-sans',
      subset,
      joins: true,
    }),
  ),
  { family: 'noto-sans-hebrew', subset: 'hebrew', joins: true },
  { family: 'noto-sans-arabic', subset: 'arabic', joins: true },
  { family: 'unifont', subset: 'latin', joins: false },
] as const;

/** Reads the letters that papers are printed with. */
export async function readFonts(): Promise<Letters> {
  return new Letters(await Promise.all(fonts.map(readFont)));
}

async function readFont({ family, subset, joins }: (typeof fonts)[number]): Promise<FontFile> {
  const read = (weight: 400 | 700) =>
    readFile(resolve(`@fontsource/${family}/files/${family}-${subset}-${weight}-normal.woff`));
  const packed = await read(400);
  const packedBold = family === 'unifont' ? packed : await read(700);
  return {
    name: `${family} ${subset}`,
    regular: () => unpackedWoff(packed),
    bold: () => unpackedWoff(packedBold),
    joins,
  };
}
