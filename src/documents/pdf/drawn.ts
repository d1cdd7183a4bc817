import type { Frame, Panel } from '../../figure/figure.js';
import type { SquareCode } from './paper.js';
import type { Line } from './writing.js';

/** A place in the structure of the document, as those hear it who have it read to them (ISO 32000-1, 14.8). */
export type StructureNode = { tag: string; parent: StructureNode | null; description?: string };

/** Something on a page. A rule belongs to no place in the structure: it only parts what is above from what is below. */
export type Drawn =
  | { kind: 'line'; line: Line; x: number; baseline: number; size: number; node: StructureNode }
  | { kind: 'code'; code: SquareCode; x: number; y: number; side: number; node: StructureNode }
  | {
      kind: 'figure';
      panel: Panel;
      /** The part of the panel that is drawn, in centimeters of the body, and how large one of them is. */
      frame: Frame;
      scale: number;
      x: number;
      y: number;
      node: StructureNode;
    }
  | { kind: 'box'; x: number; y: number; side: number; node: StructureNode }
  | { kind: 'rule'; x: number; y: number; width: number };

/** Distances are points from the upper left corner of the page. */
export type Page = { drawn: readonly Drawn[]; foot: Extract<Drawn, { kind: 'line' }> };

/** What stands at one height, and must not be parted; what is drawn has its place from the upper left of the row. */
export type Row = { height: number; spaceBefore: number; keepsWithNext: boolean; drawn: readonly Drawn[] };

export function moved(drawn: Drawn, right: number, down: number): Drawn {
  const x = drawn.x + right;
  return drawn.kind === 'line'
    ? { ...drawn, x, baseline: drawn.baseline + down }
    : { ...drawn, x, y: drawn.y + down };
}

export function heightOf(rows: readonly Row[]): number {
  return rows.reduce((sum, { spaceBefore, height }) => sum + spaceBefore + height, 0);
}

/** Rows one below the other as one that must not be parted; the space before the first one is left out. */
export function stacked(rows: readonly Row[]): { height: number; drawn: Drawn[] } {
  let height = 0;
  const drawn = rows.flatMap((row, index) => {
    const top = index === 0 ? 0 : height + row.spaceBefore;
    height = top + row.height;
    return row.drawn.map((each) => moved(each, 0, top));
  });
  return { height, drawn };
}
