import { escapeMarkup } from '../documents/markup.js';
import { isAddress } from './asText.js';
import { type Block, plainWords, type Span } from './markdown.js';

/**
 * Renders blocks as part of a page.
 *
 * @param addressOf returns the address of a chapter by its name
 */
export function asHtml(blocks: readonly Block[], addressOf: (chapter: string) => string): string {
  const inline = (spans: readonly Span[]) => spans.map((span) => spanHtml(span, addressOf)).join('');
  return blocks.map((block) => blockHtml(block, inline)).join('\n');
}

function blockHtml(block: Block, inline: (spans: readonly Span[]) => string): string {
  switch (block.kind) {
    case 'heading':
      return `<h${block.level}>${inline(block.spans)}</h${block.level}>`;
    case 'paragraph':
      return `<p>${inline(block.spans)}</p>`;
    case 'list': {
      const tag = block.isNumbered ? 'ol' : 'ul';
      return `<${tag}>${block.items.map((spans) => `<li>${inline(spans)}</li>`).join('')}</${tag}>`;
    }
    case 'table': {
      const head = block.head.map((cell) => `<th scope="col">${inline(cell)}</th>`).join('');
      const rows = block.rows.map(
        (row) => `<tr>${row.map((cell) => `<td>${inline(cell)}</td>`).join('')}</tr>`,
      );
      const label = escapeMarkup(plainWords(block.head[0] ?? []));
      return `<div class="wide" tabindex="0" role="region" aria-label="${label}"><table><thead><tr>${head}</tr></thead><tbody>${rows.join('')}</tbody></table></div>`;
    }
    case 'code':
      // Focusable, so that lines wider than the screen can be scrolled by keyboard.
      return `<pre tabindex="0"><code>${escapeMarkup(block.text)}</code></pre>`;
  }
}

function spanHtml(span: Span, addressOf: (chapter: string) => string): string {
  const text = escapeMarkup(span.text);
  switch (span.kind) {
    case 'text':
      return text;
    case 'strong':
      return `<strong>${text}</strong>`;
    case 'code':
      return `<code>${text}</code>`;
    case 'link': {
      const to = isAddress(span.to) ? span.to : addressOf(span.to);
      return `<a href="${escapeMarkup(to)}">${text}</a>`;
    }
  }
}
