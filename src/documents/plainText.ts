import type { Block } from './pdf/paper.js';

type Kind = 'title' | 'heading' | 'subheading';

/** The underline characters of headings. */
const underlines: Readonly<Record<Kind, string>> = { title: '=', heading: '-', subheading: '.' };

/** Returns a document as plain text to paste into another record, without QR codes, figures and tick boxes. */
export function plainText(blocks: readonly Block[]): string {
  const lines = blocks.flatMap((block) => linesOf(block));
  return `${lines.join('\n').trim()}\n`;
}

function linesOf(block: Block): string[] {
  switch (block.kind) {
    case 'together':
      return block.blocks.flatMap(linesOf);
    case 'grid':
      return block.cells.flat().flatMap(linesOf);
    case 'code':
    case 'figures':
    case 'ticks':
    case 'sheet':
      return [];
    case 'list':
      return block.items.map((item) => `- ${item}`);
    case 'paragraph':
      return [block.lead === undefined ? block.text : `${block.lead} ${block.text}`];
    default:
      return ['', block.text, underlines[block.kind].repeat(Math.max(3, [...block.text].length))];
  }
}

/** Parses a text that {@link plainText} wrote, including anything added to it. It accepts any text. */
export function blocksOfText(text: string): Block[] {
  const lines = text.split(/\r?\n/);
  const blocks: Block[] = [];
  for (let index = 0; index < lines.length; index += 1) {
    const line = (lines[index] ?? '').trimEnd();
    if (line.trim() === '') continue;
    const kind = headingOf(lines[index + 1] ?? '');
    const last = blocks.at(-1);
    if (kind !== null) {
      blocks.push({ kind, text: line });
      index += 1;
    } else if (!line.startsWith('- ')) blocks.push({ kind: 'paragraph', text: line });
    else if (last?.kind === 'list')
      blocks[blocks.length - 1] = { ...last, items: [...last.items, line.slice(2)] };
    else blocks.push({ kind: 'list', items: [line.slice(2)] });
  }
  return blocks;
}

function headingOf(line: string): Kind | null {
  if (!/^(={3,}|-{3,}|\.{3,})$/.test(line)) return null;
  const kinds = ['title', 'heading', 'subheading'] as const;
  return kinds.find((kind) => line.startsWith(underlines[kind])) ?? null;
}
