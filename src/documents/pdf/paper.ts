/** What a paper is made of, before anything is known of pages. */
export type Block =
  | { kind: 'title'; text: string }
  | { kind: 'heading'; text: string }
  | { kind: 'subheading'; text: string }
  | { kind: 'paragraph'; text: string; isStrong?: boolean }
  | { kind: 'list'; items: readonly string[] }
  /** A square code with its address in words beside it. */
  | { kind: 'code'; code: SquareCode; description: string; beside: readonly string[] }
  /** Stays on one page where a page is long enough. */
  | { kind: 'together'; blocks: readonly Exclude<Block, { kind: 'together' }>[] };

/** Rows of dark and light squares, as QR codes are. */
export type SquareCode = { size: number; isDark: (row: number, column: number) => boolean };

export const pageSizes = { a4: [595.28, 841.89], letter: [612, 792] } as const;
export type PageSize = keyof typeof pageSizes;

export type Paper = {
  title: string;
  /** BCP 47. */
  language: string;
  pageSize: PageSize;
  /** Height of letters in points; headings are larger, the line at the foot smaller. */
  letterPoints: number;
  blocks: readonly Block[];
  /** Stands at the foot of each page. */
  foot: (page: number, pages: number) => string;
  /** Ends a paper in which letters stand as numbers because no font has them. */
  lettersMissing: string;
  /** When it was made; the same paper made at the same moment is the same bytes. */
  madeAtMs: number;
};
