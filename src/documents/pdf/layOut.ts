import { type Drawn, heightOf, moved, type Page, type Row, type StructureNode } from './drawn.js';
import { gridRows, tickRows } from './gridRows.js';
import type { Letters } from './letters.js';
import { type Block, type Paper, pageSizes, type SheetFit, type SheetSetting } from './paper.js';
import { RowMaker } from './rowMaker.js';
import { breakIntoLines, type Line, printable } from './writing.js';

const usualMargin = 54;
/** Lower than that, printers may cut off the line at the foot. */
const leastFoot = 39;

/** This many lines of a paragraph or list stay with the heading before them. */
const leastTogether = 2;

/** Line heights; the closer one only where it saves a page. */
const airyLeading = 1.3;
const closeLeading = 1.15;

type Sheet = { blocks: Block[]; fit: SheetFit };
type Area = { width: number; top: number; bottom: number };

/** Lays out a document on pages. */
export function layOut(paper: Paper, letters: Letters): Page[] {
  const margin = paper.marginPoints ?? usualMargin;
  const [width, height] = pageSizes[paper.pageSize];
  const area = { width: width - 2 * margin, top: margin, bottom: height - margin - paper.letterPoints * 1.2 };
  const root: StructureNode = { tag: 'Document', parent: null };
  const known = new Map<string, Line[]>();
  let isWhole = true;
  const sheets = sheetsOf(paper);
  const pages = sheets.flatMap(({ blocks, fit }, index) => {
    const shared = { letters, root, known, isClose: paper.marginPoints !== undefined };
    const set = (setting: SheetSetting, leading: number) => {
      const maker = new RowMaker({ ...setting, ...shared, leading });
      const chunks = chunksOf(maker, blocks, area);
      isWhole &&= maker.isWhole;
      const isLast = index === sheets.length - 1;
      if (isLast && !isWhole) {
        const block = { kind: 'paragraph', text: paper.lettersMissing } as const;
        chunks.push(maker.rows(block, { x: 0, width: area.width, spacing: 1 }));
      }
      return placed(chunks, area);
    };
    return fewestPages(fit, set);
  });
  return pages.map((drawn, index) => ({
    drawn: drawn.map((each) => moved(each, margin, 0)),
    foot: footOf(paper, letters, { page: index + 1, pages: pages.length, margin, root }),
  }));
}

/**
 * The first setting that keeps to the pages of a sheet, in close lines; where none does, the first of those with the
 * fewest pages. Its lines stand apart where that costs no page.
 */
function fewestPages(
  { settings, pages: mostPages }: SheetFit,
  set: (setting: SheetSetting, leading: number) => Drawn[][],
): Drawn[][] {
  let best: { setting: SheetSetting; pages: Drawn[][] } | null = null;
  for (const setting of settings) {
    const pages = set(setting, setting.leading ?? closeLeading);
    if (best === null || pages.length < best.pages.length) best = { setting, pages };
    if (pages.length <= mostPages) break;
  }
  if (best === null) return [[]];
  const airy = set(best.setting, airyLeading);
  return airy.length <= Math.max(mostPages, best.pages.length) ? airy : best.pages;
}

function sheetsOf({ blocks, letterPoints }: Paper): Sheet[] {
  const plain: SheetFit = { pages: 0, settings: [{ letterPoints, columns: 1, figureCm: 6 }] };
  const sheets: Sheet[] = [{ blocks: [], fit: plain }];
  for (const block of blocks) {
    if (block.kind === 'sheet') sheets.push({ blocks: [], fit: block.fit });
    else sheets.at(-1)?.blocks.push(block);
  }
  const filled = sheets.filter((sheet) => sheet.blocks.length > 0);
  return filled.length > 0 ? filled : sheets.slice(0, 1);
}

/** Groups rows that belong on one page: a heading goes with what follows it. */
function chunksOf(maker: RowMaker, blocks: readonly Block[], { width, top, bottom }: Area): Row[][] {
  const column = { x: 0, width, spacing: 1 };
  const rowsOf = (block: Exclude<Block, { kind: 'sheet' }>): Row[] => {
    if (block.kind === 'together') return block.blocks.flatMap((each) => maker.rows(each, column));
    if (block.kind === 'grid') return gridRows(maker, block, width, bottom - top);
    if (block.kind === 'ticks') return tickRows(maker, block, width);
    return maker.rows(block, column);
  };
  const chunks: Row[][] = [];
  let before: Row[] = [];
  for (const block of blocks) {
    if (block.kind === 'sheet') continue;
    const rows = rowsOf(block);
    if (block.kind === 'heading' || block.kind === 'subheading') before = [...before, ...rows];
    else {
      const together = block.kind === 'together' ? rows.length : block.kind === 'grid' ? 1 : leastTogether;
      chunks.push([...before, ...rows.slice(0, together)], ...rows.slice(together).map((row) => [row]));
      before = [];
    }
  }
  return before.length > 0 ? [...chunks, before] : chunks;
}

function placed(chunks: readonly (readonly Row[])[], { top, bottom }: Area): Drawn[][] {
  const pages: Drawn[][] = [[]];
  let y = top;
  const turn = () => {
    pages.push([]);
    y = top;
  };
  for (const chunk of chunks) {
    if (y > top && y + heightOf(chunk) > bottom && heightOf(chunk) <= bottom - top) turn();
    chunk.forEach((row, index) => {
      const next = row.keepsWithNext ? chunk[index + 1] : undefined;
      const neededHeight =
        row.spaceBefore + row.height + (next === undefined ? 0 : next.spaceBefore + next.height);
      if (y > top && y + neededHeight > bottom) turn();
      const at = y === top ? y : y + row.spaceBefore;
      pages.at(-1)?.push(...row.drawn.map((drawn) => moved(drawn, 0, at)));
      y = at + row.height;
    });
  }
  return pages;
}

function footOf(
  paper: Paper,
  letters: Letters,
  where: { page: number; pages: number; margin: number; root: StructureNode },
): Page['foot'] {
  const { page, pages, margin, root } = where;
  const size = paper.letterPoints * 0.75;
  const [width, height] = pageSizes[paper.pageSize];
  const { text } = printable(paper.foot(page, pages), letters);
  const [line] = breakIntoLines(text, { size, isBold: false }, width - 2 * margin, letters);
  return {
    kind: 'line',
    line: line ?? { pieces: [], width: 0, isFromRight: false },
    x: margin,
    baseline: height - Math.max(leastFoot, margin - size * 0.4),
    size,
    node: root,
  };
}
