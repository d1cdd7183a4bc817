import { type Block, plainWords, type Span } from './markdown.js';

const width = 80;
const codeIndent = '    ';

/** Formats blocks for a terminal: lines of at most 80 characters, except for code blocks, which are copied verbatim. */
export function asText(blocks: readonly Block[]): string {
  return `${blocks.map(blockText).join('\n\n')}\n`;
}

function blockText(block: Block): string {
  switch (block.kind) {
    case 'heading': {
      const title = spansText(block.spans);
      if (block.level === 3) return title;
      return `${title}\n${(block.level === 1 ? '=' : '-').repeat(title.length)}`;
    }
    case 'paragraph':
      return wrapped(spansText(block.spans), '', '');
    case 'list':
      return block.items
        .map((spans, index) => {
          const mark = block.isNumbered ? `${index + 1}. ` : '- ';
          return wrapped(spansText(spans), mark, ' '.repeat(mark.length));
        })
        .join('\n');
    case 'table':
      return block.rows
        .map((row) =>
          row
            .map((cell, column) => {
              const name = plainWords(block.head[column] ?? []);
              return wrapped(
                column === 0 ? spansText(cell) : `${name}: ${spansText(cell)}`,
                column === 0 ? '' : '  ',
                '  ',
              );
            })
            .join('\n'),
        )
        .join('\n');
    case 'code':
      return block.text
        .split('\n')
        .map((line) => (line === '' ? '' : `${codeIndent}${line}`))
        .join('\n');
  }
}

function spansText(spans: readonly Span[]): string {
  return spans
    .map((span) => {
      if (span.kind === 'code') return `\`${span.text}\``;
      if (span.kind !== 'link') return span.text;
      return isAddress(span.to) ? `${span.text} (${span.to})` : `${span.text} (stillcount guide ${span.to})`;
    })
    .join('');
}

/** Returns whether a link leads outside the guide. */
export function isAddress(to: string): boolean {
  return /^[a-z]+:/.test(to);
}

/** @param first the prefix of the first line, @param others the prefix of every other line */
function wrapped(text: string, first: string, others: string): string {
  const lines: string[] = [];
  let line = first;
  let isEmpty = true;
  for (const word of text.split(' ')) {
    if (!isEmpty && line.length + 1 + word.length > width) {
      lines.push(line);
      line = others;
      isEmpty = true;
    }
    line += isEmpty ? word : ` ${word}`;
    isEmpty = false;
  }
  return [...lines, line].join('\n');
}
