import type { Letters } from './letters.js';
import { type Block, type Paper, pageSizes, type SquareCode } from './paper.js';
import { breakIntoLines, type Line, printable, type Style } from './writing.js';

/** A node in the logical structure of the document, as screen readers present it (ISO 32000-1, 14.8). */
export type StructureNode = { tag: string; parent: StructureNode | null; description?: string };

export type Drawn =
  | { kind: 'line'; line: Line; x: number; baseline: number; size: number; node: StructureNode }
  | { kind: 'code'; code: SquareCode; x: number; y: number; side: number; node: StructureNode };

/** A page. Distances are in points from its upper left corner. */
export type Page = { drawn: readonly Drawn[]; foot: Extract<Drawn, { kind: 'line' }> };

/**
 * Content at one height, which must not be split across pages. Positions of drawn items are relative to the upper left
 * of the row.
 */
type Row = { height: number; spaceBefore: number; keepsWithNext: boolean; drawn: Drawn[] };

const margin = 54;
/** Side of a QR code, including its quiet zone of four squares (ISO/IEC 18004). */
const codeSide = 150;

const textKinds = {
  title: { tag: 'H1', scale: 1.5, isBold: true, spaceBefore: 0 },
  heading: { tag: 'H2', scale: 1.2, isBold: true, spaceBefore: 0.9 },
  subheading: { tag: 'H3', scale: 1.05, isBold: true, spaceBefore: 0.7 },
  paragraph: { tag: 'P', scale: 1, isBold: false, spaceBefore: 0.35 },
} as const;

/** This many lines of a paragraph or list stay with the heading before them. */
const leastTogether = 2;

/** Line heights, loose and tight; the tight one is used only where it saves a page. */
const leadings = [1.3, 1.16] as const;

/** Lays out a document on pages. */
export function layOut(paper: Paper, letters: Letters): Page[] {
  const known = new Map<string, Line[]>();
  const [airy, close] = leadings.map((leading) =>
    new Setting(paper, letters, { leading, known }).pages(),
  ) as [Page[], Page[]];
  return close.length < airy.length ? close : airy;
}

class Setting {
  readonly #paper: Paper;
  readonly #letters: Letters;
  readonly #leading: number;
  readonly #width: number;
  readonly #bottom: number;
  readonly #root: StructureNode = { tag: 'Document', parent: null };
  /** Cache of broken lines; line breaks do not depend on the leading. */
  readonly #known: Map<string, Line[]>;
  #isWhole = true;

  constructor(
    paper: Paper,
    letters: Letters,
    { leading, known }: { leading: number; known: Map<string, Line[]> },
  ) {
    this.#known = known;
    this.#paper = paper;
    this.#letters = letters;
    this.#leading = leading;
    const [width, height] = pageSizes[paper.pageSize];
    this.#width = width - 2 * margin;
    this.#bottom = height - margin - paper.letterPoints * 1.2;
  }

  pages(): Page[] {
    const chunks = this.#chunks(this.#paper.blocks);
    if (!this.#isWhole) chunks.push(this.#rows({ kind: 'paragraph', text: this.#paper.lettersMissing }, 0));
    const pages = this.#placed(chunks);
    return pages.map((drawn, index) => ({ drawn, foot: this.#foot(index + 1, pages.length) }));
  }

  /** Groups rows that belong on one page: a heading goes with what follows it. */
  #chunks(blocks: readonly Block[]): Row[][] {
    const chunks: Row[][] = [];
    let before: Row[] = [];
    for (const block of blocks) {
      const rows =
        block.kind === 'together'
          ? block.blocks.flatMap((each) => this.#rows(each, 0))
          : this.#rows(block, 0);
      if (block.kind === 'heading' || block.kind === 'subheading') before = [...before, ...rows];
      else {
        const together = block.kind === 'together' ? rows.length : leastTogether;
        chunks.push([...before, ...rows.slice(0, together)], ...rows.slice(together).map((row) => [row]));
        before = [];
      }
    }
    return before.length > 0 ? [...chunks, before] : chunks;
  }

  #rows(block: Exclude<Block, { kind: 'together' }>, x: number): Row[] {
    if (block.kind === 'list') return this.#list(block.items, x);
    if (block.kind === 'code') return [this.#code(block)];
    const { tag, scale, isBold, spaceBefore } = textKinds[block.kind];
    const size = this.#paper.letterPoints * scale;
    const style = { size, isBold: isBold || (block.kind === 'paragraph' && block.isStrong === true) };
    const node = { tag, parent: this.#root };
    const rows = this.#lines(block.text, style, this.#width - x).map((line) =>
      this.#row(line, { x, size, node }),
    );
    return this.#withSpace(rows, spaceBefore).map((row) => ({
      ...row,
      keepsWithNext: block.kind !== 'paragraph',
    }));
  }

  #list(items: readonly string[], x: number): Row[] {
    const size = this.#paper.letterPoints;
    const style = { size, isBold: false };
    const list = { tag: 'L', parent: this.#root };
    const indent = size * 1.1;
    return items.flatMap((text, index) => {
      const item = { tag: 'LI', parent: list };
      const bullet = this.#lines('\u2022', style, indent).map((line) =>
        this.#drawnLine(line, { x, size, node: { tag: 'Lbl', parent: item } }),
      );
      const node = { tag: 'LBody', parent: item };
      const rows = this.#lines(text, style, this.#width - x - indent).map((line) =>
        this.#row(line, { x: x + indent, size, node }),
      );
      const [first, ...others] = this.#withSpace(rows, index === 0 ? 0.3 : 0.15);
      return first === undefined ? [] : [{ ...first, drawn: [...bullet, ...first.drawn] }, ...others];
    });
  }

  #code({ code, description, beside }: Extract<Block, { kind: 'code' }>): Row {
    const figure = { tag: 'Figure', parent: this.#root, description };
    const size = this.#paper.letterPoints;
    const x = codeSide + size;
    let height = 0;
    const words = beside.flatMap((text) => {
      const node = { tag: 'P', parent: this.#root };
      height += height === 0 ? 0 : size * 0.35;
      return this.#lines(text, { size, isBold: false }, this.#width - x).map((line) => {
        const drawn = this.#drawnLine(line, { x, size, node });
        const placed = { ...drawn, baseline: drawn.baseline + height };
        height += size * this.#leading;
        return placed;
      });
    });
    const drawn: Drawn[] = [{ kind: 'code', code, x: 0, y: 0, side: codeSide, node: figure }, ...words];
    return { height: Math.max(codeSide, height), spaceBefore: size * 0.5, keepsWithNext: false, drawn };
  }

  #lines(text: string, style: Style, width: number): Line[] {
    const { text: shown, isWhole } = printable(text, this.#letters);
    if (!isWhole) this.#isWhole = false;
    const key = `${style.size} ${style.isBold} ${width} ${shown}`;
    const lines = this.#known.get(key) ?? breakIntoLines(shown, style, width, this.#letters);
    this.#known.set(key, lines);
    return lines;
  }

  #row(line: Line, where: { x: number; size: number; node: StructureNode }): Row {
    const drawn = [this.#drawnLine(line, where)];
    return { height: where.size * this.#leading, spaceBefore: 0, keepsWithNext: false, drawn };
  }

  #drawnLine(line: Line, { x, size, node }: { x: number; size: number; node: StructureNode }) {
    const left = line.isFromRight ? this.#width - line.width : x;
    return { kind: 'line' as const, line, x: left, baseline: size, size, node };
  }

  #withSpace(rows: readonly Row[], lines: number): Row[] {
    const spaceBefore = lines * this.#paper.letterPoints * this.#leading;
    return rows.map((row, index) => (index === 0 ? { ...row, spaceBefore } : row));
  }

  #placed(chunks: readonly (readonly Row[])[]): Drawn[][] {
    const pages: Drawn[][] = [[]];
    let y: number = margin;
    const turn = () => {
      pages.push([]);
      y = margin;
    };
    for (const chunk of chunks) {
      if (y > margin && y + heightOf(chunk) > this.#bottom && heightOf(chunk) <= this.#bottom - margin)
        turn();
      chunk.forEach((row, index) => {
        const next = row.keepsWithNext ? chunk[index + 1] : undefined;
        const neededHeight =
          row.spaceBefore + row.height + (next === undefined ? 0 : next.spaceBefore + next.height);
        if (y > margin && y + neededHeight > this.#bottom) turn();
        const top = y === margin ? y : y + row.spaceBefore;
        pages.at(-1)?.push(...row.drawn.map((drawn) => moved(drawn, top)));
        y = top + row.height;
      });
    }
    return pages;
  }

  #foot(page: number, pages: number): Page['foot'] {
    const size = this.#paper.letterPoints * 0.75;
    const { text } = printable(this.#paper.foot(page, pages), this.#letters);
    const [line] = breakIntoLines(text, { size, isBold: false }, this.#width, this.#letters);
    const [, height] = pageSizes[this.#paper.pageSize];
    return {
      kind: 'line',
      line: line ?? { pieces: [], width: 0, isFromRight: false },
      x: margin,
      baseline: height - margin + size * 0.4,
      size,
      node: this.#root,
    };
  }
}

function heightOf(rows: readonly Row[]): number {
  return rows.reduce((sum, { spaceBefore, height }) => sum + spaceBefore + height, 0);
}

function moved(drawn: Drawn, y: number): Drawn {
  return drawn.kind === 'line'
    ? { ...drawn, x: drawn.x + margin, baseline: drawn.baseline + y }
    : { ...drawn, x: drawn.x + margin, y: drawn.y + y };
}
