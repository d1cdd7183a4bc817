import Mustache from 'mustache';
import type { Block, GridWay, Inner, PaperFigure, SheetFit, SquareCode } from './pdf/paper.js';

/** The document texts by name, as in `audio-templates/LANG/papers`; those without marks are partials for the others. */
export type PaperTexts = Readonly<Record<string, string>>;

/** What a template names and cannot hold itself. */
export type Drawings = {
  /** What `=` stands for; without it, `=` and what is beside it are left out. */
  code?: { code: SquareCode; description: string } | null;
  /** What `% KEY` stands for; what is not among them is left out. */
  figures?: ReadonlyMap<string, readonly PaperFigure[]>;
  /** How `--- KEY` is set. */
  sheets?: Readonly<Record<string, SheetFit>>;
  /** What `[]` stands for. */
  ticks?: Extract<Block, { kind: 'ticks' }> | null;
};

/**
 * The marks at the start of a template line, and the control characters that replace them while values are filled in. A
 * value cannot contain these characters, so no name is ever mistaken for a heading.
 */
const marks = [
  { mark: '### ', sign: '\u0003', kind: 'subheading' },
  { mark: '## ', sign: '\u0002', kind: 'heading' },
  { mark: '# ', sign: '\u0001', kind: 'title' },
  { mark: '- ', sign: '\u0004', kind: 'item' },
  { mark: '! ', sign: '\u0005', kind: 'strong' },
  { mark: '[]', sign: '\u0010', kind: 'ticks' },
  { mark: '[', sign: '\u0006', kind: 'open' },
  { mark: ']', sign: '\u0007', kind: 'close' },
  { mark: '=', sign: '\u000e', kind: 'code' },
  { mark: '| ', sign: '\u000f', kind: 'beside' },
  { mark: '--- ', sign: '\u0011', kind: 'sheet' },
  { mark: '<', sign: '\u0012', kind: 'grid' },
  { mark: '+', sign: '\u0013', kind: 'cell' },
  { mark: '>', sign: '\u0014', kind: 'endGrid' },
  { mark: '% ', sign: '\u0015', kind: 'figures' },
] as const;
/** Parts a lead in bold from the rest of a paragraph. */
const leadMark = ' :: ';
const leadSign = '\u0016';

/**
 * Fills a template and parses the result: `# ` begins a title, `## ` and `### ` headings, `- ` a list item, `! ` bold
 * text; `[` and `]` on lines of their own keep everything between them on one page; `=` is a QR code, with the lines
 * that begin with `| ` beside it. `<2` begins a grid of two columns and `<*` one of as many as the sheet has, with
 * `ruled` or `flowing` behind it; `+` begins each cell, and `>` ends the grid. `% KEY` is the figures of that
 * key; `--- KEY` begins a sheet, and `[]` is the boxes to tick. Every
 * other line is a paragraph; ` :: ` parts a lead in bold from the rest of it.
 *
 * @throws RangeError for a template, or the setting of a sheet, that does not exist
 */
export function fillTemplate(
  texts: PaperTexts,
  name: string,
  view: object,
  drawings: Drawings = {},
): Block[] {
  const blocks: Block[] = [];
  /** Where a line goes: into what was opened last and is not closed yet. */
  let inner: Inner[] | null = null;
  let close = nothing;
  let cells: Inner[][] = [];
  for (const line of linesOf(texts, name, view)) {
    const { kind = 'paragraph', sign = '' } = marks.find((each) => line.startsWith(each.sign)) ?? {};
    const text = line.slice(sign.length).trim();
    if (kind === 'open') {
      const held: Inner[] = [];
      inner = held;
      close = () => void blocks.push({ kind: 'together', blocks: held });
    } else if (kind === 'grid') {
      const [columns = '', name] = text.split(' ');
      const way = ways.find((each) => each === name) ?? 'plain';
      const ofGrid: Inner[][] = [];
      cells = ofGrid;
      const grid = { columns: columns === '*' ? null : Number(columns), way };
      inner = [];
      close = () => void blocks.push({ kind: 'grid', ...grid, cells: ofGrid });
    } else if (kind === 'cell') {
      inner = [];
      cells.push(inner);
    } else if (kind === 'close' || kind === 'endGrid') {
      close();
      [inner, close] = [null, nothing];
    } else if (kind === 'sheet') blocks.push({ kind, fit: sheetOf(text, drawings) });
    else if (kind === 'ticks') blocks.push(...(drawings.ticks == null ? [] : [drawings.ticks]));
    else add(inner ?? blocks, kind, text, drawings);
  }
  return blocks;
}

function nothing(): void {}

function sheetOf(key: string, { sheets = {} }: Drawings): SheetFit {
  const fit = sheets[key];
  if (fit === undefined) throw new RangeError(`there is no setting for the sheet ${key}`);
  return fit;
}

/** Fills a template that is a single line, such as a page footer. */
export function fillLine(texts: PaperTexts, name: string, view: object): string {
  return linesOf(texts, name, view).join(' ').trim();
}

/** Lines of words that are no blocks yet. */
export function fillLines(texts: PaperTexts, name: string): string[] {
  return linesOf(texts, name, {}).map((line) => line.trim());
}

function linesOf(texts: PaperTexts, name: string, view: object): string[] {
  const text = texts[name];
  if (text === undefined) throw new RangeError(`there is no paper ${name}`);
  const marked = Object.fromEntries(
    Object.entries(texts).map(([key, each]) => [key, withSigns(each).trimEnd()]),
  );
  const written = Mustache.render(`${withSigns(text)}\n`, view, marked, { escape: plainValue });
  return written.split('\n').filter((line) => line.trim() !== '');
}

function withSigns(template: string): string {
  const alone = new Set(['[', ']', '[]', '=', '+', '>']);
  return template
    .split('\n')
    .map((line) => {
      const found = marks.find(({ mark }) => (alone.has(mark) ? line === mark : line.startsWith(mark)));
      const marked = found === undefined ? line : found.sign + line.slice(found.mark.length);
      return marked.replace(leadMark, leadSign);
    })
    .join('\n');
}

/** Puts a value on one line. */
function plainValue(value: unknown): string {
  return String(value).replace(/[\p{Cc}\s]+/gu, ' ');
}

const ways: readonly GridWay[] = ['plain', 'ruled', 'flowing'];

type Kind = (typeof marks)[number]['kind'] | 'paragraph';
type InnerKind = Exclude<Kind, 'open' | 'close' | 'grid' | 'cell' | 'endGrid' | 'sheet' | 'ticks'>;

function add(blocks: (Block | Inner)[], kind: InnerKind, text: string, drawings: Drawings): void {
  const { code = null, figures } = drawings;
  const last = blocks.at(-1);
  if (kind === 'code') {
    if (code !== null) blocks.push({ kind: 'code', ...code, beside: [] });
  } else if (kind === 'beside') {
    if (last?.kind === 'code') blocks[blocks.length - 1] = { ...last, beside: [...last.beside, text] };
  } else if (kind === 'item') {
    if (last?.kind === 'list') blocks[blocks.length - 1] = { ...last, items: [...last.items, text] };
    else blocks.push({ kind: 'list', items: [text] });
  } else if (kind === 'figures') {
    const found = figures?.get(text) ?? [];
    if (found.length > 0) blocks.push({ kind, figures: found });
  } else if (kind === 'strong') blocks.push({ kind: 'paragraph', text, isStrong: true });
  else if (kind === 'paragraph') blocks.push(paragraph(text));
  else blocks.push({ kind, text });
}

function paragraph(line: string): Inner {
  const [lead = '', ...rest] = line.split(leadSign);
  if (rest.length === 0) return { kind: 'paragraph', text: line };
  return { kind: 'paragraph', lead: lead.trim(), text: rest.join(' ').trim() };
}
