import Mustache from 'mustache';
import type { Block, SquareCode } from './pdf/paper.js';

/** The document texts by name, as in `audio-templates/LANG/papers`; those without marks are partials for the others. */
export type PaperTexts = Readonly<Record<string, string>>;

type Inner = Exclude<Block, { kind: 'together' }>;

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
  { mark: '[', sign: '\u0006', kind: 'open' },
  { mark: ']', sign: '\u0007', kind: 'close' },
  { mark: '=', sign: '\u000e', kind: 'code' },
  { mark: '| ', sign: '\u000f', kind: 'beside' },
] as const;

/**
 * Fills a template and parses the result: `# ` begins a title, `## ` and `### ` headings, `- ` a list item, `! ` bold
 * text; `[` and `]` on lines of their own keep everything between them on one page; `=` is a QR code, with the lines
 * that begin with `| ` beside it. Every other line is a paragraph.
 *
 * @param code the code for `=`; without it, `=` and the lines beside it are left out
 * @throws RangeError for a template that does not exist
 */
export function fillTemplate(
  texts: PaperTexts,
  name: string,
  view: object,
  code: { code: SquareCode; description: string } | null = null,
): Block[] {
  const lines = linesOf(texts, name, view);
  const blocks: Block[] = [];
  let inner: Inner[] | null = null;
  for (const line of lines) {
    const { kind = 'paragraph', sign = '' } = marks.find((each) => line.startsWith(each.sign)) ?? {};
    const text = line.slice(sign.length).trim();
    if (kind === 'open') inner = [];
    else if (kind === 'close') {
      if (inner !== null) blocks.push({ kind: 'together', blocks: inner });
      inner = null;
    } else add(inner ?? blocks, kind, text, code);
  }
  return blocks;
}

/** Fills a template that is a single line, such as a page footer. */
export function fillLine(texts: PaperTexts, name: string, view: object): string {
  return linesOf(texts, name, view).join(' ').trim();
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
  const alone = new Set(['[', ']', '=']);
  return template
    .split('\n')
    .map((line) => {
      const found = marks.find(({ mark }) => (alone.has(mark) ? line === mark : line.startsWith(mark)));
      return found === undefined ? line : found.sign + line.slice(found.mark.length);
    })
    .join('\n');
}

/** Puts a value on one line. */
function plainValue(value: unknown): string {
  return String(value).replace(/[\p{Cc}\s]+/gu, ' ');
}

type Kind = (typeof marks)[number]['kind'] | 'paragraph';

function add(
  blocks: (Block | Inner)[],
  kind: Exclude<Kind, 'open' | 'close'>,
  text: string,
  code: { code: SquareCode; description: string } | null,
): void {
  const last = blocks.at(-1);
  if (kind === 'code') {
    if (code !== null) blocks.push({ kind: 'code', ...code, beside: [] });
  } else if (kind === 'beside') {
    if (last?.kind === 'code') blocks[blocks.length - 1] = { ...last, beside: [...last.beside, text] };
  } else if (kind === 'item') {
    if (last?.kind === 'list') blocks[blocks.length - 1] = { ...last, items: [...last.items, text] };
    else blocks.push({ kind: 'list', items: [text] });
  } else if (kind === 'strong') blocks.push({ kind: 'paragraph', text, isStrong: true });
  else blocks.push({ kind, text });
}
