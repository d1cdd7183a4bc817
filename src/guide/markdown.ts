/** A piece of a sentence. */
export type Span =
  | { kind: 'text' | 'strong' | 'code'; text: string }
  /** `to` is an address of the web, or the name of a chapter. */
  | { kind: 'link'; text: string; to: string };

export type Block =
  | { kind: 'heading'; level: 1 | 2 | 3; spans: readonly Span[] }
  | { kind: 'paragraph'; spans: readonly Span[] }
  | { kind: 'list'; isNumbered: boolean; items: readonly (readonly Span[])[] }
  | { kind: 'table'; head: readonly (readonly Span[])[]; rows: readonly (readonly (readonly Span[])[])[] }
  /** What is typed or copied as it stands; `language` is `sh` for what is typed into a shell. */
  | { kind: 'code'; language: string; text: string };

/**
 * Reads the part of Markdown that the guide is written in: headings, paragraphs, lists of one level, tables and
 * fenced code; bold words, code and links inside them. Every paragraph, item and row is one line.
 *
 * @throws RangeError for a fence that is never closed
 */
export function readMarkdown(text: string): Block[] {
  const lines = text.split('\n');
  const blocks: Block[] = [];
  for (let at = 0; at < lines.length; ) {
    const { block, next } = blockAt(lines, at);
    if (block !== null) blocks.push(block);
    at = next;
  }
  return blocks;
}

const item = /^(?:-|\d+\.) +(.*)$/;

function blockAt(lines: readonly string[], at: number): { block: Block | null; next: number } {
  const line = lines[at] ?? '';
  if (line.trim() === '') return { block: null, next: at + 1 };
  const language = /^```(.*)$/.exec(line)?.[1];
  if (language !== undefined) {
    const end = lines.indexOf('```', at + 1);
    if (end === -1) throw new RangeError(`line ${at + 1}: this fence is never closed`);
    return {
      block: { kind: 'code', language: language.trim(), text: lines.slice(at + 1, end).join('\n') },
      next: end + 1,
    };
  }
  const [, marks = '', title] = /^(#{1,3}) (.*)$/.exec(line) ?? [];
  if (title !== undefined) {
    const level = marks.length === 1 ? 1 : marks.length === 2 ? 2 : 3;
    return { block: { kind: 'heading', level, spans: readSpans(title) }, next: at + 1 };
  }
  if (item.test(line)) {
    const taken = linesWhile(lines, at, (each) => item.test(each));
    const items = taken.map((each) => readSpans(item.exec(each)?.[1] ?? ''));
    return { block: { kind: 'list', isNumbered: /^\d/.test(line), items }, next: at + taken.length };
  }
  if (line.startsWith('|')) {
    const taken = linesWhile(lines, at, (each) => each.startsWith('|'));
    const [head = [], ...rows] = taken.filter((each) => !/^[|\s:-]+$/.test(each)).map(cellsOf);
    return { block: { kind: 'table', head, rows }, next: at + taken.length };
  }
  return { block: { kind: 'paragraph', spans: readSpans(line) }, next: at + 1 };
}

function linesWhile(lines: readonly string[], at: number, isOne: (line: string) => boolean): string[] {
  const end = lines.findIndex((line, index) => index > at && !isOne(line));
  return lines.slice(at, end === -1 ? lines.length : end);
}

function cellsOf(row: string): Span[][] {
  return row
    .replace(/^\|\s*|\s*\|\s*$/g, '')
    .split(/\s*\|\s*/)
    .map(readSpans);
}

function readSpans(text: string): Span[] {
  const spans: Span[] = [];
  let from = 0;
  for (const found of text.matchAll(/`([^`]+)`|\*\*([^*]+)\*\*|\[([^\]]+)\]\(([^)\s]+)\)/g)) {
    const [whole, code, strong, label, to] = found;
    if (found.index > from) spans.push({ kind: 'text', text: text.slice(from, found.index) });
    if (code !== undefined) spans.push({ kind: 'code', text: code });
    else if (strong !== undefined) spans.push({ kind: 'strong', text: strong });
    else spans.push({ kind: 'link', text: label ?? '', to: to ?? '' });
    from = found.index + whole.length;
  }
  if (from < text.length) spans.push({ kind: 'text', text: text.slice(from) });
  return spans;
}

/** The words of a sentence, without what sets them apart. */
export function plainWords(spans: readonly Span[]): string {
  return spans.map(({ text }) => text).join('');
}
