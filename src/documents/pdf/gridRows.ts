import { type Drawn, moved, type Row, stacked } from './drawn.js';
import { closeFrames } from './figureBox.js';
import type { Block, Inner } from './paper.js';
import { type Column, drawnLine, type RowMaker } from './rowMaker.js';

type Grid = Extract<Block, { kind: 'grid' }>;
type Ticks = Extract<Block, { kind: 'ticks' }>;
type Cell = readonly Inner[];
type Part = { height: number; drawn: readonly Drawn[] };

const gutter = 18;
const spaceBeforeGrid = { plain: 0.5, ruled: 0.5, flowing: 0.25 } as const;
/** Between a rule and what is below it. */
const belowRule = 0.45;
/** Blocks within a cell stand closer together than on a page. */
const cellSpacing = 0.4;

/**
 * Rows of a grid, one for each row of cells. A row that is higher than a page comes block by block in one column, so
 * that it can be parted.
 */
export function gridRows(maker: RowMaker, grid: Grid, width: number, mostHeight: number): Row[] {
  const columns = grid.columns ?? maker.setting.columns;
  const size = maker.setting.letterPoints;
  const spaceBefore = size * spaceBeforeGrid[grid.way];
  if (grid.way === 'flowing') {
    const part = flowing(maker, grid.cells, columns, width);
    if (part.height <= mostHeight) return [{ ...part, spaceBefore, keepsWithNext: false }];
  }
  const rows: Row[] = [];
  for (let at = 0; at < grid.cells.length; at += columns) {
    const cells = grid.cells.slice(at, at + columns);
    const part =
      columns === 1 ? besideFigures(maker, cells, width) : sideBySide(maker, cells, columns, width);
    const { height, drawn } = grid.way === 'ruled' ? underRule(part, width, size * belowRule) : part;
    if (height <= mostHeight) rows.push({ height, spaceBefore, keepsWithNext: false, drawn });
    else rows.push(...cells.flatMap((cell) => spread(maker, cell, { x: 0, width, spacing: 1 })));
  }
  return rows;
}

function underRule({ height, drawn }: Part, width: number, gap: number): Part {
  const rule: Drawn = { kind: 'rule', x: 0, y: 0, width };
  return { height: height + gap, drawn: [rule, ...drawn.map((each) => moved(each, 0, gap))] };
}

function spread(maker: RowMaker, cell: Cell, column: Column): Row[] {
  return cell.flatMap((block) => maker.rows(block, column));
}

function besideFigures(maker: RowMaker, cells: readonly Cell[], width: number): Part {
  const [cell = []] = cells;
  const size = maker.setting.letterPoints;
  const room = maker.scale * 200;
  const x = room + size;
  const figures = cell.flatMap((block) => (block.kind === 'figures' ? block.figures : []));
  const frames = closeFrames(figures.map(({ panel }) => panel));
  const poses = figures.map((figure, index) => ({
    ...maker.figures([figure], { x: 0, width: room }, frames.slice(index, index + 1)),
    spaceBefore: index === 0 ? 0 : 5,
  }));
  const words = cell.filter(({ kind }) => kind !== 'figures');
  const column = { x, width: width - x, spacing: cellSpacing };
  const [left, right] = [stacked(poses), stacked(spread(maker, words, column))];
  // The name comes first for those who have it read to them, then the figures, then the rest.
  const [name, rest] = parted(right.drawn);
  return { height: Math.max(left.height, right.height), drawn: [...name, ...left.drawn, ...rest] };
}

function parted(drawn: readonly Drawn[]): [Drawn[], Drawn[]] {
  const isName = (each: Drawn) => each.kind === 'line' && each.node.tag === 'H3';
  return [drawn.filter(isName), drawn.filter((each) => !isName(each))];
}

/** Cells in columns; where it takes no more room, their figures stand at one height, and so does what follows. */
function sideBySide(maker: RowMaker, cells: readonly Cell[], columns: number, width: number): Part {
  const cellWidth = (width - gutter * (columns - 1)) / columns;
  const gap = maker.setting.letterPoints * 0.35;
  const parts = cells.map((cell, index): CellParts => {
    const column = { x: index * (cellWidth + gutter), width: cellWidth, spacing: cellSpacing };
    const at = cell.findIndex(({ kind }) => kind === 'figures');
    const part = (blocks: Cell) => stacked(spread(maker, blocks, column));
    if (at < 0) return [{ height: 0, drawn: [] }, { height: 0, drawn: [] }, part(cell)];
    return [part(cell.slice(0, at)), part(cell.slice(at, at + 1)), part(cell.slice(at + 1))];
  });
  const [loose, aligned] = [parts, alignedParts(parts)].map((each) => below(each, gap));
  if (loose === undefined || aligned === undefined) return { height: 0, drawn: [] };
  return aligned.height <= loose.height + 1 ? aligned : loose;
}

/** What comes before the figures, the figures, and the rest. */
type CellParts = readonly [head: Part, figures: Part, body: Part];

/** Cells whose parts are as high as those of their neighbors; figures stand at the foot of theirs. */
function alignedParts(parts: readonly CellParts[]): CellParts[] {
  const [headHeight, figuresHeight] = [
    Math.max(...parts.map(([head]) => head.height)),
    Math.max(...parts.map(([, figures]) => figures.height)),
  ];
  return parts.map(([head, figures, body]) =>
    figures.height === 0
      ? [head, figures, body]
      : [
          { ...head, height: headHeight },
          {
            height: figuresHeight,
            drawn: figures.drawn.map((each) => moved(each, 0, figuresHeight - figures.height)),
          },
          body,
        ],
  );
}

/** The parts of each cell one below the other. */
function below(cells: readonly CellParts[], gap: number): Part {
  let height = 0;
  const drawn = cells.flatMap((parts) => {
    let down = 0;
    return parts.flatMap((part) => {
      const top = down;
      if (part.height > 0) down += part.height + gap;
      height = Math.max(height, down - gap);
      return part.drawn.map((each) => moved(each, 0, top));
    });
  });
  return { height, drawn };
}

/** Cells down each column and on in the next, so that the columns are as even as their order allows. */
function flowing(maker: RowMaker, cells: readonly Cell[], columns: number, width: number): Part {
  const cellWidth = (width - gutter * (columns - 1)) / columns;
  const gap = maker.setting.letterPoints * 0.2;
  const parts = cells.map((cell) =>
    stacked(spread(maker, cell, { x: 0, width: cellWidth, spacing: cellSpacing })),
  );
  const counts = evenCounts(
    parts.map(({ height }) => height + gap),
    columns,
  );
  const drawn: Drawn[] = [];
  let [height, next] = [0, 0];
  counts.forEach((count, column) => {
    let down = 0;
    for (const part of parts.slice(next, next + count)) {
      drawn.push(...part.drawn.map((each) => moved(each, column * (cellWidth + gutter), down)));
      down += part.height + gap;
    }
    next += count;
    height = Math.max(height, down - gap);
  });
  return { height, drawn };
}

/** How many parts go into each column, in their order, so that the highest column is as low as can be. */
function evenCounts(heights: readonly number[], columns: number): number[] {
  if (columns === 1) return [heights.length];
  let best: { highest: number; counts: number[] } | null = null;
  for (let count = 0; count <= heights.length; count += 1) {
    const others = evenCounts(heights.slice(count), columns - 1);
    const highest = highestOf(heights, [count, ...others]);
    if (best === null || highest < best.highest) best = { highest, counts: [count, ...others] };
  }
  return best?.counts ?? [];
}

function highestOf(heights: readonly number[], counts: readonly number[]): number {
  let next = 0;
  const sums = counts.map((count) => {
    const column = heights.slice(next, next + count);
    next += count;
    return column.reduce((sum, height) => sum + height, 0);
  });
  return Math.max(...sums);
}

const tickSide = 24;
const tickGap = 4;

/** Boxes to tick, as a table. */
export function tickRows(maker: RowMaker, { days, weeks, boxesEachDay }: Ticks, width: number): Row[] {
  const { letterPoints: size, root } = maker.setting;
  const table = { tag: 'Table', parent: root };
  const first = width * 0.16;
  const dayWidth = (width - first) / days.length;
  const boxesWidth = boxesEachDay * tickSide + (boxesEachDay - 1) * tickGap;
  const words = (
    text: string,
    column: { x: number; width: number },
    down: number,
    parent: typeof table,
  ): Drawn[] => {
    const node = { tag: 'TH', parent };
    return maker
      .lines(text, { size, isBold: true }, column.width)
      .map((line, index) => moved(drawnLine(line, column, size, node), 0, down + index * size));
  };
  const head = { tag: 'TR', parent: table };
  const heads = days.flatMap((day, index) =>
    words(day, { x: first + index * dayWidth + (dayWidth - boxesWidth) / 2, width: dayWidth }, 0, head),
  );
  const row = (drawn: readonly Drawn[], height: number): Row => ({
    ...{ height, drawn, keepsWithNext: true },
    spaceBefore: size * 0.7,
  });
  return [
    row(heads, size * 1.2),
    ...weeks.map((week): Row => {
      const line = { tag: 'TR', parent: table };
      const boxes = days.flatMap((_, day) => {
        const node = { tag: 'TD', parent: line };
        return Array.from({ length: boxesEachDay }, (_each, box): Drawn => {
          const x = first + day * dayWidth + (dayWidth - boxesWidth) / 2 + box * (tickSide + tickGap);
          return { kind: 'box', x, y: 0, side: tickSide, node };
        });
      });
      return row([...words(week, { x: 0, width: first }, (tickSide - size) / 2, line), ...boxes], tickSide);
    }),
  ];
}
