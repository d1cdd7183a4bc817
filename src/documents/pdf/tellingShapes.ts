import type { Font, Glyph, GlyphRun } from 'fontkit';

/** What the library that writes the PDF asks of the letters of a paper; its types know less than it does. */
type Subset = { glyphs: number[]; includeGlyph: (id: number) => number; encode: () => Uint8Array };

/**
 * A font in which every shape tells what it was written for. Fonts of joined scripts take letters apart into strokes
 * and dots, and one stroke serves many letters; a PDF says once for each shape what it stands for. So a shape that
 * stands for something else gets a number of its own, and is embedded twice.
 *
 * @param font is changed: it remembers no longer what a shape stood for when it was first met
 */
export function tellingShapes(font: Font): Font {
  const shapeOf = font.getGlyph.bind(font);
  font.getGlyph = (id, codePoints = []) => Object.create(shapeOf(id), { codePoints: { value: codePoints } });
  const numbers = new Map<string, number>();
  const shapes: number[] = [];
  const numbered = (glyph: Glyph): Glyph => {
    const key = `${glyph.id} ${glyph.codePoints.join(' ')}`;
    const number = numbers.get(key) ?? shapes.push(glyph.id) - 1;
    numbers.set(key, number);
    return Object.create(glyph, { id: { value: number } });
  };
  const layout: Font['layout'] = (...text): GlyphRun => {
    const run = font.layout(...text);
    return Object.create(run, {
      glyphs: { value: run.glyphs.map(numbered) },
      positions: { value: run.positions },
    });
  };
  return Object.create(font, {
    layout: { value: layout },
    createSubset: { value: () => subsetOf(font, shapes) },
  });
}

function subsetOf(font: Font, shapes: readonly number[]): Subset {
  const subset = font.createSubset() as unknown as Subset;
  const places = new Map<number, number>();
  const taken = new Set<number>();
  const includeGlyph = (number: number): number => {
    const known = places.get(number);
    if (known !== undefined) return known;
    const shape = shapes[number] ?? 0;
    const place = taken.has(shape) ? subset.glyphs.push(shape) - 1 : subset.includeGlyph(shape);
    taken.add(shape);
    places.set(number, place);
    return place;
  };
  return { glyphs: subset.glyphs, includeGlyph, encode: () => subset.encode() };
}
