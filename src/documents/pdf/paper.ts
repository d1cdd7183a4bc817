/** The parts of a document before it is divided into pages. */
export type Block =
  | { kind: 'title'; text: string }
  | { kind: 'heading'; text: string }
  | { kind: 'subheading'; text: string }
  | { kind: 'paragraph'; text: string; isStrong?: boolean }
  | { kind: 'list'; items: readonly string[] }
  /** A QR code with text such as its address beside it. */
  | { kind: 'code'; code: SquareCode; description: string; beside: readonly string[] }
  /** Blocks that stay on one page if the page is long enough. */
  | { kind: 'together'; blocks: readonly Exclude<Block, { kind: 'together' }>[] };

/** A QR code as rows of dark and light squares. */
export type SquareCode = { size: number; isDark: (row: number, column: number) => boolean };

export const pageSizes = { a4: [595.28, 841.89], letter: [612, 792] } as const;
export type PageSize = keyof typeof pageSizes;

export type Paper = {
  title: string;
  /** Language tag, BCP 47. */
  language: string;
  pageSize: PageSize;
  /** Font size in points; headings are larger, the footer is smaller. */
  letterPoints: number;
  blocks: readonly Block[];
  /** Returns the footer of a page. */
  foot: (page: number, pages: number) => string;
  /** The text at the end of a document in which some letters are printed as numbers because no font has them. */
  lettersMissing: string;
  /** When the document was made; the same document made at the same time has the same bytes. */
  madeAtMs: number;
};
