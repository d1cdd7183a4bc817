import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { XMLParser } from 'fast-xml-parser';
import { create } from 'fontkit';

const fontFile = createRequire(import.meta.url).resolve(
  '@fontsource/atkinson-hyperlegible/files/atkinson-hyperlegible-latin-400-normal.woff',
);
const font = create(readFileSync(fontFile));
const unitsPerEm = 'unitsPerEm' in font ? font.unitsPerEm : Number.NaN;

export type LabelBox = { text: string; left: number; right: number; top: number; bottom: number };

/** Where the words of a picture stand, measured with a real font; letters that it lacks count as one em wide. */
export function boxesOf(svg: string): LabelBox[] {
  const size = Number(/font-size="([\d.]+)"/.exec(svg)?.[1]);
  return [...svg.matchAll(/<text x="([-\d.]+)" y="([-\d.]+)"(?: text-anchor="(\w+)")?>([^<]*)<\/text>/g)].map(
    ([, x, y, anchor = 'start', escaped]) => {
      const text = String(
        new XMLParser({ parseTagValue: false, trimValues: false }).parse(`<a>${escaped}</a>`).a,
      );
      const width = widthInEms(text) * size;
      const left = Number(x) - (anchor === 'middle' ? width / 2 : anchor === 'end' ? width : 0);
      // Letters of this font reach 0.72 em up and 0.2 em down (measured on "Ålg").
      return {
        text,
        left,
        right: left + width,
        top: Number(y) - 0.75 * size,
        bottom: Number(y) + 0.22 * size,
      };
    },
  );
}

function widthInEms(text: string): number {
  if (!('layout' in font)) return Number.NaN;
  return [...text].reduce((sum, letter) => {
    const code = letter.codePointAt(0) ?? 0;
    return (
      sum + (font.hasGlyphForCodePoint(code) ? font.glyphForCodePoint(code).advanceWidth / unitsPerEm : 1)
    );
  }, 0);
}

export function sizeOf(svg: string): { width: number; height: number } {
  const [width, height] = /viewBox="0 0 ([\d.]+) ([\d.]+)"/.exec(svg)?.slice(1).map(Number) ?? [];
  return { width: width ?? Number.NaN, height: height ?? Number.NaN };
}

/** Every two labels that meet. */
export function overlapping(boxes: readonly LabelBox[]): [string, string][] {
  return boxes.flatMap((one, index) =>
    boxes.slice(index + 1).flatMap((other): [string, string][] => {
      const meets =
        one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
      return meets ? [[one.text, other.text]] : [];
    }),
  );
}
