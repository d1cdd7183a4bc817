import type { Drawn, Row, StructureNode } from './drawn.js';
import { closeFrames } from './figureBox.js';
import type { Letters } from './letters.js';
import type { Inner, PaperFigure, SheetSetting } from './paper.js';
import { breakIntoLines, type Line, printable, type Style } from './writing.js';

/** Quiet zone of a QR code is four squares (ISO/IEC 18004). */
const codeSides = { usual: 150, close: 76 };

const textKinds = {
  title: { tag: 'H1', scale: 1.5, isBold: true, spaceBefore: 0 },
  heading: { tag: 'H2', scale: 1.2, isBold: true, spaceBefore: 0.9 },
  subheading: { tag: 'H3', scale: 1.05, isBold: true, spaceBefore: 0.7 },
  paragraph: { tag: 'P', scale: 1, isBold: false, spaceBefore: 0.35 },
} as const;

/** Points for a centimeter of paper. */
const centimeter = 72 / 2.54;
/** How long a side view is, in centimeters of the body. */
const fullWidthCm = 224;
const figureGap = 6;

/** Where blocks are set: from where, how wide, and how far apart, as a share of the usual distance. */
export type Column = { x: number; width: number; spacing: number };

/** How a sheet is set, with what its settings share: where lines break does not depend on the leading. */
export type Setting = SheetSetting & {
  letters: Letters;
  leading: number;
  root: StructureNode;
  known: Map<string, Line[]>;
  /** Whether the paper has no room to give away. */
  isClose: boolean;
};

/** Makes rows of blocks, in one setting. */
export class RowMaker {
  readonly setting: Setting;
  /** Whether every letter was found in a font. */
  isWhole = true;

  constructor(setting: Setting) {
    this.setting = setting;
  }

  rows(block: Inner, column: Column): Row[] {
    switch (block.kind) {
      case 'list':
        return this.#list(block.items, column);
      case 'code':
        return [this.#code(block, column)];
      case 'figures':
        return [this.figures(block.figures, column)];
      default:
        return this.#text(block, column);
    }
  }

  /** Poses side by side; smaller than asked for where the column is too narrow. */
  figures(
    figures: readonly PaperFigure[],
    { x, width }: Pick<Column, 'x' | 'width'>,
    frames = closeFrames(figures.map(({ panel }) => panel)),
  ): Row {
    const gaps = figureGap * (figures.length - 1);
    const bodyCm = frames.reduce((sum, frame) => sum + frame.width, 0);
    const highestCm = Math.max(...frames.map((frame) => frame.height));
    const { mostFigurePoints = Number.POSITIVE_INFINITY } = this.setting;
    const scale = Math.min(this.scale, (width - gaps) / bodyCm, mostFigurePoints / highestCm);
    const height = scale * highestCm;
    let left = x;
    const drawn = figures.map(({ panel, text }, index): Drawn => {
      const frame = frames[index] ?? panel.frame;
      const node = { tag: 'Figure', parent: this.setting.root, description: text };
      const placed: Drawn = {
        kind: 'figure',
        panel,
        frame,
        scale,
        x: left,
        y: height - scale * frame.height,
        node,
      };
      left += scale * frame.width + figureGap;
      return placed;
    });
    return { height, spaceBefore: 0.3 * this.setting.letterPoints, keepsWithNext: true, drawn };
  }

  /** Points for a centimeter of the body. */
  get scale(): number {
    return (this.setting.figureCm * centimeter) / fullWidthCm;
  }

  lines(text: string, style: Style, width: number): Line[] {
    const { letters, known } = this.setting;
    const { text: shown, isWhole } = printable(text, letters);
    if (!isWhole) this.isWhole = false;
    const key = `${style.size} ${style.isBold} ${style.boldTo ?? 0} ${width} ${shown}`;
    const lines = known.get(key) ?? breakIntoLines(shown, style, width, letters);
    known.set(key, lines);
    return lines;
  }

  lineRow(line: Line, column: Column, size: number, node: StructureNode): Row {
    const drawn = [drawnLine(line, column, size, node)];
    return { height: size * this.setting.leading, spaceBefore: 0, keepsWithNext: false, drawn };
  }

  #text(block: Extract<Inner, { text: string }>, column: Column): Row[] {
    const { tag, scale, isBold, spaceBefore } = textKinds[block.kind];
    const size = this.setting.letterPoints * scale;
    const isParagraph = block.kind === 'paragraph';
    const lead = isParagraph && block.lead !== undefined ? `${block.lead} ` : '';
    const style = {
      size,
      isBold: isBold || (isParagraph && block.isStrong === true),
      boldTo: printable(lead, this.setting.letters).text.length,
    };
    const node = { tag, parent: this.setting.root };
    const rows = this.lines(lead + block.text, style, column.width).map((line) =>
      this.lineRow(line, column, size, node),
    );
    const closer = this.setting.isClose && block.kind === 'heading' ? 0.55 : 1;
    return this.#withSpace(rows, spaceBefore * column.spacing * closer).map((row) => ({
      ...row,
      keepsWithNext: !isParagraph,
    }));
  }

  #list(items: readonly string[], column: Column): Row[] {
    const size = this.setting.letterPoints;
    const style = { size, isBold: false };
    const list = { tag: 'L', parent: this.setting.root };
    const indent = size * 1.1;
    const within = { ...column, x: column.x + indent, width: column.width - indent };
    return items.flatMap((text, index) => {
      const item = { tag: 'LI', parent: list };
      const bullet = this.lines('\u2022', style, indent).map((line) =>
        drawnLine(line, column, size, { tag: 'Lbl', parent: item }),
      );
      const node = { tag: 'LBody', parent: item };
      const rows = this.lines(text, style, within.width).map((line) =>
        this.lineRow(line, within, size, node),
      );
      const [first, ...others] = this.#withSpace(rows, (index === 0 ? 0.3 : 0.15) * column.spacing);
      return first === undefined ? [] : [{ ...first, drawn: [...bullet, ...first.drawn] }, ...others];
    });
  }

  #code({ code, description, beside }: Extract<Inner, { kind: 'code' }>, { x, width }: Column): Row {
    const { root, letterPoints: size, leading, isClose } = this.setting;
    const side = isClose ? codeSides.close : codeSides.usual;
    const column = { x: x + side + size, width: width - side - size, spacing: 1 };
    let height = 0;
    const words = beside.flatMap((text) => {
      const node = { tag: 'P', parent: root };
      height += height === 0 ? 0 : size * (isClose ? 0.12 : 0.35);
      return this.lines(text, { size, isBold: false }, column.width).map((line): Drawn => {
        const drawn = drawnLine(line, column, size, node);
        const placed = { ...drawn, baseline: drawn.baseline + height };
        height += size * leading;
        return placed;
      });
    });
    const node = { tag: 'Figure', parent: root, description };
    const drawn: Drawn[] = [{ kind: 'code', code, x, y: 0, side, node }, ...words];
    return { height: Math.max(side, height), spaceBefore: size * 0.5, keepsWithNext: false, drawn };
  }

  #withSpace(rows: readonly Row[], lines: number): Row[] {
    const spaceBefore = lines * this.setting.letterPoints * this.setting.leading;
    return rows.map((row, index) => (index === 0 ? { ...row, spaceBefore } : row));
  }
}

/** A line at the left of a column, or at its right where it is written from the right. */
export function drawnLine(
  line: Line,
  { x, width }: Pick<Column, 'x' | 'width'>,
  size: number,
  node: StructureNode,
): Extract<Drawn, { kind: 'line' }> {
  const left = line.isFromRight ? x + width - line.width : x;
  return { kind: 'line', line, x: left, baseline: size, size, node };
}
