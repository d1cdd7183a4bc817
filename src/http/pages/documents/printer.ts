import type { PaperTexts } from '../../../documents/filled.js';
import { paperOf } from '../../../documents/paperOf.js';
import type { Letters } from '../../../documents/pdf/letters.js';
import type { Paper } from '../../../documents/pdf/paper.js';
import type { PageReply } from '../../server/routing.js';

/** What documents are made from and printed with. */
export class Printer {
  readonly texts: PaperTexts;
  #letters: Promise<Letters> | null = null;
  /** The characters it was prepared for. */
  readonly #ready = new Set<string>();

  constructor(texts: PaperTexts) {
    this.texts = texts;
  }

  /**
   * Prepares, while the previous page is being read, what the first document of a process would otherwise wait for, and
   * the first one with new characters in a name.
   */
  makeReady(name: string): void {
    const text = [...new Set(`A${name}`)].filter((letter) => !this.#ready.has(letter)).join('');
    if (text === '') return;
    for (const letter of text) this.#ready.add(letter);
    const blocks = [{ kind: 'title', text } as const];
    const paper = { title: text, blocks, pageSize: 'a4', letterPoints: 12, madeAtMs: 0 } as const;
    // A failure here will recur, and be reported, when a document is requested.
    void this.pdf(paperOf(this.texts, paper), 'any').then(nothing, nothing);
  }

  /**
   * A document as a PDF file. The typesetter and its fonts are loaded for the first document: a service starts without
   * them.
   */
  async pdf(paper: Paper, name: string): Promise<PageReply> {
    const { makePdf } = await import('../../../documents/pdf/makePdf.js');
    this.#letters ??= import('../../../session/readFonts.js').then(({ readFonts }) => readFonts());
    const bytes = Buffer.from(await makePdf(paper, await this.#letters));
    return { kind: 'file', type: 'application/pdf', name: `${name}.pdf`, bytes };
  }
}

function nothing(): void {}

/** A plain text file, for any other record. */
export function textFile(text: string, name: string): PageReply {
  return { kind: 'file', type: 'text/plain; charset=utf-8', name: `${name}.txt`, bytes: Buffer.from(text) };
}
