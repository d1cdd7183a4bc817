import Mustache from 'mustache';
import type { Block, SquareCode } from './pdf/paper.js';

/** The texts of papers by name, as they lie in `audio-templates/LANG/papers`; those without marks fill others in. */
export type PaperTexts = Readonly<Record<string, string>>;

type Inner = Exclude<Block, { kind: 'together' }>;

/**
 * What begins a line of a template, and the sign that stands for it while values are filled in: a value can hold no
 * such sign, so that no name is ever taken for a heading.
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
 * Fills a template and reads what stands in it: `# ` begins a title, `## ` and `### ` headings, `- ` an item of a list,
 * `! ` something in bold; `[` and `]` on lines of their own hold together what is between; `=` is a square code, with
 * the lines that begin with `| ` beside it. Every other line is a paragraph.
 *
 * @param code what `=` stands for; without it, `=` and what is beside it are left out
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

/** One line of words, such as that at the foot of a page. */
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

/** A value on one line. */
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
