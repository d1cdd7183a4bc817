import { escapeMarkup } from '../markup.js';
import { drawText, letterSize, lineHeight, rounded, wrapText } from './letters.js';

/**
 * Combines drawn elements into one SVG. It has no ids, so that any number of pictures can be on one page, and only the
 * color of the surrounding text, so that it has the same contrast.
 */
export function drawFrame(
  drawn: readonly string[],
  {
    title,
    description,
    width,
    height,
    kind,
  }: { title: string; description: string; width: number; height: number; kind: string },
): string {
  const size = `width="${rounded(width)}" height="${rounded(height)}" viewBox="0 0 ${rounded(width)} ${rounded(height)}"`;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" class="picture ${kind}" role="img" ${size}`,
    ` fill="currentColor" stroke="none" font-size="${letterSize}">`,
    `<title>${escapeMarkup(title)}</title><desc>${escapeMarkup(description)}</desc>`,
    ...drawn,
    '</svg>',
  ].join('');
}

/** A legend entry: a function that draws a sample at a position, and its name. */
export type LegendEntry = { sample: (x: number, y: number) => string; name: string };

const sampleWidth = 34;

/** Draws the names below a picture, each in its own rows, so that none overlap. */
export function drawLegend(
  entries: readonly LegendEntry[],
  { top, width }: { top: number; width: number },
): { drawn: string[]; height: number } {
  const drawn: string[] = [];
  let row = 0;
  for (const { sample, name } of entries) {
    const y = top + (row + 0.5) * lineHeight;
    drawn.push(sample(sampleWidth / 2, y));
    const lines = wrapText(name, width - sampleWidth - 8);
    for (const line of lines) {
      drawn.push(drawText(line, { x: sampleWidth + 4, y: top + row * lineHeight + letterSize }));
      row += 1;
    }
    if (lines.length === 0) row += 1;
  }
  return { drawn, height: row * lineHeight };
}

/** Centers a text in a width, in as many lines as it needs. */
export function centred(
  text: string,
  { top, width }: { top: number; width: number },
): { drawn: string[]; height: number } {
  const lines = wrapText(text, width - 16);
  return {
    drawn: lines.map((line, row) =>
      drawText(line, { x: width / 2, y: top + row * lineHeight + letterSize, anchor: 'middle' }),
    ),
    height: lines.length * lineHeight,
  };
}
