import { readFile, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { extname, join } from 'node:path';
import { sheetFont } from '../documents/figures/sheet.js';
import { inputError } from '../errors/stillcountError.js';
import { inTemporaryFolder } from '../files/temporaryFolder.js';
import { writeWhole } from '../files/wholeFile.js';
import { unpackedWoff } from '../files/woff.js';

const { resolve } = createRequire(import.meta.url);

/** Pixels of a picture for each of the SVG: more than 220 in an inch where a pose is printed 6 cm wide. */
const sharpness = 1.5;

/** How a figure is written, by the end of the file's name. */
const writers: Readonly<Record<string, (svg: string) => Promise<string | Uint8Array>>> = {
  '.svg': async (svg) => svg,
  '.png': toPng,
};

/**
 * Writes a drawing as a file of its own.
 *
 * @param svg SVG 1.1; its names are set in the package's own letters
 * @param path ends in `.svg` or `.png`
 * @throws StillcountError kind `input` for another ending
 */
export async function writeFigure(svg: string, path: string): Promise<void> {
  const write = writers[extname(path).toLowerCase()];
  if (write === undefined) {
    throw inputError({
      path: '--out',
      message: 'the end of the name does not say how the figure is to be written',
      found: path,
      allowed: Object.keys(writers).join(' or '),
    });
  }
  await writeWhole(path, await write(svg));
}

async function toPng(svg: string): Promise<Uint8Array> {
  // Imported here so that other commands start without the renderer.
  const { Resvg } = await import('@resvg/resvg-js');
  const woff = await readFile(
    resolve('@fontsource/atkinson-hyperlegible/files/atkinson-hyperlegible-latin-400-normal.woff'),
  );
  // The renderer reads fonts from files only.
  return inTemporaryFolder('figure', async (folder) => {
    const font = join(folder, 'letters.ttf');
    await writeFile(font, unpackedWoff(woff));
    const painted = new Resvg(svg, {
      fitTo: { mode: 'zoom', value: sharpness },
      font: { fontFiles: [font], loadSystemFonts: false, defaultFontFamily: sheetFont },
    });
    return painted.render().asPng();
  });
}
