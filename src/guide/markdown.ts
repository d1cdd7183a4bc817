import { type MarkedToken, marked, type Token } from 'marked';

/** A piece of a sentence. */
export type Span =
  | { kind: 'text' | 'strong' | 'code'; text: string }
  /** `to` is a web address or the name of a chapter. */
  | { kind: 'link'; text: string; to: string };

export type Block =
  | { kind: 'heading'; level: 1 | 2 | 3; spans: readonly Span[] }
  | { kind: 'paragraph'; spans: readonly Span[] }
  | { kind: 'list'; isNumbered: boolean; items: readonly (readonly Span[])[] }
  | { kind: 'table'; head: readonly (readonly Span[])[]; rows: readonly (readonly (readonly Span[])[])[] }
  /** Text to type or copy verbatim; `language` is `sh` for shell commands. */
  | { kind: 'code'; language: string; text: string };

/**
 * Parses a chapter of the guide. Of Markdown it uses headings, paragraphs, lists of one level, tables and fenced code,
 * with bold words, code and links inside them.
 *
 * @throws RangeError for any other construct, naming it
 */
export function readMarkdown(text: string): Block[] {
  return known(marked.lexer(text)).flatMap((token): Block[] => {
    switch (token.type) {
      case 'space':
        return [];
      case 'heading':
        return [{ kind: 'heading', level: levelOf(token.depth), spans: spansOf(token.tokens) }];
      case 'paragraph':
        return [{ kind: 'paragraph', spans: spansOf(token.tokens) }];
      case 'list':
        return [
          { kind: 'list', isNumbered: token.ordered, items: token.items.map((item) => spansOf(item.tokens)) },
        ];
      case 'table': {
        const head = token.header.map((cell) => spansOf(cell.tokens));
        const rows = token.rows.map((row) => row.map((cell) => spansOf(cell.tokens)));
        return [{ kind: 'table', head, rows }];
      }
      case 'code':
        return [{ kind: 'code', language: token.lang ?? '', text: token.text }];
      default:
        throw unknown(token);
    }
  });
}

function spansOf(tokens: readonly Token[]): Span[] {
  return known(tokens).flatMap((token): Span[] => {
    switch (token.type) {
      case 'text':
        return token.tokens === undefined
          ? [{ kind: 'text', text: token.text.replaceAll('\n', ' ') }]
          : spansOf(token.tokens);
      case 'escape':
        return [{ kind: 'text', text: token.text }];
      case 'strong':
        return [{ kind: 'strong', text: token.text }];
      case 'codespan':
        return [{ kind: 'code', text: token.text }];
      case 'link':
        return [{ kind: 'link', text: token.text, to: token.href }];
      default:
        throw unknown(token);
    }
  });
}

/** Narrows each token to its kind: extensions could add others, and none is used. */
function known(tokens: readonly Token[]): MarkedToken[] {
  return tokens.filter(isMarked);
}

function isMarked(token: Token): token is MarkedToken {
  return !('childTokens' in token);
}

function levelOf(depth: number): 1 | 2 | 3 {
  return depth === 1 ? 1 : depth === 2 ? 2 : 3;
}

function unknown({ type, raw }: MarkedToken): RangeError {
  return new RangeError(`the guide has no place for this (${type}): ${raw.slice(0, 80)}`);
}

/** Returns the words of a sentence without their formatting. */
export function plainWords(spans: readonly Span[]): string {
  return spans.map(({ text }) => text).join('');
}
