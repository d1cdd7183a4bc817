import type { Panel } from '../../figure/figure.js';

/** A pose as it is drawn, and what it shows in words for those who cannot see it. */
export type PaperFigure = { panel: Panel; text: string };

/** What stands by itself, also within a cell of a grid. */
export type Inner =
  | { kind: 'title'; text: string }
  | { kind: 'heading'; text: string }
  | { kind: 'subheading'; text: string }
  /** `lead` comes before the text, on the same line, in bold. */
  | { kind: 'paragraph'; text: string; isStrong?: boolean; lead?: string }
  | { kind: 'list'; items: readonly string[] }
  /** A QR code with text such as its address beside it. */
  | { kind: 'code'; code: SquareCode; description: string; beside: readonly string[] }
  /** Poses side by side, at one scale. */
  | { kind: 'figures'; figures: readonly PaperFigure[] };

/** The parts of a document before it is divided into pages. */
export type Block =
  | Inner
  /** Blocks that stay on one page if the page is long enough. */
  | { kind: 'together'; blocks: readonly Inner[] }
  /**
   * Cells in columns, row by row; those of a row stay on one page. In one column, the figures of a cell stand at the
   * left of its words; `columns` is null where the sheet says how many. `ruled` has lines between its rows; `flowing` goes
   * down each column and on in the next one, all of it on one page.
   */
  | { kind: 'grid'; columns: number | null; way: GridWay; cells: readonly (readonly Inner[])[] }
  /** Boxes to tick, a column for each day and a row for each week. */
  | { kind: 'ticks'; days: readonly string[]; weeks: readonly string[]; boxesEachDay: number }
  /** Begins a new page. */
  | { kind: 'sheet'; fit: SheetFit };

export type GridWay = 'plain' | 'ruled' | 'flowing';

/** How the blocks of a sheet are set: the first setting with which they take no more pages than that. */
export type SheetFit = { pages: number; settings: readonly SheetSetting[] };

export type SheetSetting = {
  /** Height of letters in points. */
  letterPoints: number;
  /** Of the grids that leave it open. */
  columns: number;
  /** How wide a side view would be in full: the scale of all figures, as far as they fit. */
  figureCm: number;
  /** Height of lines where the usual close ones are too high, as a multiple of the letters. */
  leading?: number;
  /** How high a figure may be, such as one from above with both arms out. */
  mostFigurePoints?: number;
};

/** A QR code as rows of dark and light squares. */
export type SquareCode = { size: number; isDark: (row: number, column: number) => boolean };

export const pageSizes = { a4: [595.28, 841.89], letter: [612, 792] } as const;
export type PageSize = keyof typeof pageSizes;

export type Paper = {
  title: string;
  /** Language tag, BCP 47. */
  language: string;
  pageSize: PageSize;
  /** Margin of each page in points; 54, three quarters of an inch, if not given. */
  marginPoints?: number;
  /** Font size in points unless a sheet sets its own; headings are larger, the footer is smaller. */
  letterPoints: number;
  blocks: readonly Block[];
  /** Returns the footer of a page. */
  foot: (page: number, pages: number) => string;
  /** The text at the end of a document in which some letters are printed as numbers because no font has them. */
  lettersMissing: string;
  /** When the document was made; the same document made at the same time has the same bytes. */
  madeAtMs: number;
};
