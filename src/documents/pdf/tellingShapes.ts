import type { Font, Glyph, GlyphRun } from 'fontkit';

/** What the PDF library calls on a font subset; its types leave some of this out. */
type Subset = { glyphs: number[]; includeGlyph: (id: number) => number; encode: () => Uint8Array };

/**
 * Returns a font in which every glyph maps to one text. Fonts of joined scripts compose letters from strokes and dots,
 * and one stroke is used in many letters, but a PDF states only once per glyph which text it represents. A glyph that
 * represents a second text therefore gets its own number and is embedded twice.
 *
 * @param font is modified: it no longer remembers which text a glyph represented when it was first used
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
  // While letters are being joined, glyphs need their original numbers in the font.
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
    // The library reads only this field; reading the whole table, with a name for each of sixty thousand glyphs, is
    // slow.
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
