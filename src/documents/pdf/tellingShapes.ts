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
export function mapShapesToText(font: Font): Font {
  const shapes: number[] = [];
  const glyphs = new Map<string, Glyph>();
  const numbered = new Map<Glyph, Glyph>();
  const shapeOf = font.getGlyph.bind(font);
  font.getGlyph = (id, codePoints = []) => {
    const key = `${id} ${codePoints.join(' ')}`;
    const glyph = glyphs.get(key) ?? Object.create(shapeOf(id), { codePoints: { value: codePoints } });
    glyphs.set(key, glyph);
    return glyph;
  };
  // While letters are joined, shapes need the numbers that they have in the font.
  const withNumber = (glyph: Glyph): Glyph => {
    const known = numbered.get(glyph);
    if (known !== undefined) return known;
    const made = Object.create(glyph, { id: { value: shapes.push(glyph.id) - 1 } });
    numbered.set(glyph, made);
    return made;
  };
  const layout: Font['layout'] = (...text): GlyphRun => {
    const run = font.layout(...text);
    run.glyphs = run.glyphs.map(withNumber);
    return run;
  };
  return Object.create(font, {
    layout: { value: layout },
    createSubset: { value: () => subsetOf(font, shapes) },
    // Asked for this alone; reading the whole table, with a name for each of sixty thousand shapes, takes long.
    post: { value: { isFixedPitch: 0 } },
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
