import PDFDocument from 'pdfkit';
import { strokesOf } from '../../figure/strokes.js';
import { onPaper } from '../figures/palette.js';
import type { Drawn, StructureNode } from './drawn.js';
import { layOut } from './layOut.js';
import type { Face, Letters } from './letters.js';
import { type Paper, pageSizes, type SquareCode } from './paper.js';

/** Width of the quiet zone around a code, in squares (ISO/IEC 18004). */
const quietSquares = 4;

/**
 * Writes a document as a tagged PDF: every letter is embedded, and all text can be searched and read aloud in order.
 * The same document always gives the same bytes. Only this file uses the PDF library.
 */
export async function makePdf(paper: Paper, letters: Letters): Promise<Uint8Array> {
  const pages = layOut(paper, letters);
  const document = new PDFDocument({
    pdfVersion: '1.7',
    tagged: true,
    lang: paper.language,
    displayTitle: true,
    autoFirstPage: false,
    size: [...pageSizes[paper.pageSize]],
    margin: 0,
    info: { Title: paper.title, CreationDate: new Date(paper.madeAtMs) },
  });
  const finished = bytesOf(document);
  const structure = new Structure(document);
  for (const { drawn, foot } of pages) {
    document.addPage();
    for (const each of drawn) {
      if (each.kind === 'rule') drawRule(document, each);
      else structure.at(each.node).add(() => draw(document, each));
    }
    // An artifact is skipped by screen readers, so that the footer does not interrupt a sentence that continues on the
    // next page.
    document.markContent('Artifact', { type: 'Pagination' });
    draw(document, foot);
    document.endMarkedContent();
  }
  structure.end();
  document.end();
  return finished;
}

async function bytesOf(document: PDFKit.PDFDocument): Promise<Uint8Array> {
  const parts: Uint8Array[] = [];
  for await (const part of document) parts.push(part);
  const bytes = new Uint8Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    bytes.set(part, at);
    at += part.length;
  }
  return bytes;
}

/** The elements of the document's structure, each created when it first gets content. */
class Structure {
  readonly #document: PDFKit.PDFDocument;
  readonly #elements = new Map<StructureNode, PDFKit.PDFStructureElement>();
  readonly #roots: PDFKit.PDFStructureElement[] = [];

  constructor(document: PDFKit.PDFDocument) {
    this.#document = document;
  }

  at(node: StructureNode): PDFKit.PDFStructureElement {
    const known = this.#elements.get(node);
    if (known !== undefined) return known;
    const { tag, parent, description } = node;
    const element = this.#document.struct(tag, description === undefined ? {} : { alt: description });
    this.#elements.set(node, element);
    if (parent !== null) this.at(parent).add(element);
    else {
      this.#document.addStructure(element);
      this.#roots.push(element);
    }
    return element;
  }

  end(): void {
    for (const root of this.#roots) root.end();
  }
}

/** Light, as it parts and says nothing. */
function drawRule(document: PDFKit.PDFDocument, { x, y, width }: Extract<Drawn, { kind: 'rule' }>): void {
  document.markContent('Artifact', { type: 'Layout' });
  document
    .lineWidth(0.7)
    .moveTo(x, y)
    .lineTo(x + width, y)
    .stroke(onPaper.edge);
  document.endMarkedContent();
}

function draw(document: PDFKit.PDFDocument, drawn: Exclude<Drawn, { kind: 'rule' }>): void {
  if (drawn.kind === 'code') drawCode(document, drawn.code, drawn);
  else if (drawn.kind === 'figure') drawFigure(document, drawn);
  else if (drawn.kind === 'box') {
    document.lineWidth(1.2).roundedRect(drawn.x, drawn.y, drawn.side, drawn.side, 3).stroke('black');
  } else drawLine(document, drawn);
}

function drawLine(document: PDFKit.PDFDocument, drawn: Extract<Drawn, { kind: 'line' }>): void {
  document.fillColor('black');
  let left = drawn.x;
  for (const { face, text, width, actualText } of drawn.line.pieces) {
    setFont(document, face).fontSize(drawn.size);
    // With a list of features, even an empty one, the library joins a piece as a whole and not word by word.
    const write = () =>
      document.text(text, left, drawn.baseline, { lineBreak: false, baseline: 'alphabetic', features: [] });
    if (actualText === null) write();
    else withActualText(document, actualText, write);
    left += width;
  }
}

/**
 * Adds the original text to some shapes (`ActualText`, ISO 32000-1, 14.9.4). Readers locate it when it ends, from the
 * text around it, so it has to begin and end with the text object.
 */
function withActualText(document: PDFKit.PDFDocument, actualText: string, write: () => void): void {
  const { addContent } = document;
  const add = addContent.bind(document);
  document.addContent = (operator: string) => {
    if (operator !== 'BT' && operator !== 'ET') return add(operator);
    document.addContent = addContent;
    if (operator === 'BT') document.markContent('Span', { actual: actualText });
    const after = add(operator);
    if (operator === 'ET') document.endMarkedContent();
    else document.addContent = outside;
    return after;
  };
  const outside = document.addContent;
  write();
  document.addContent = addContent;
}

/**
 * Sets an already opened font. The library accepts one although its types do not say so, and opening it again for each
 * document would take longer.
 */
function setFont(document: PDFKit.PDFDocument, { font, name }: Face): PDFKit.PDFDocument {
  document.registerFont(name, font as unknown as ArrayBuffer);
  return document.font(name);
}

function drawCode(
  document: PDFKit.PDFDocument,
  { size, isDark }: SquareCode,
  { x, y, side }: { x: number; y: number; side: number },
): void {
  const square = side / (size + 2 * quietSquares);
  for (let row = 0; row < size; row += 1) {
    for (let column = 0; column < size; column += 1) {
      if (!isDark(row, column)) continue;
      document.rect(x + (column + quietSquares) * square, y + (row + quietSquares) * square, square, square);
    }
  }
  document.fill('black');
}

const cornerPoints = 3;

/** A figure within its frame: what reaches beyond, such as the bed, is cut off there. */
function drawFigure(
  document: PDFKit.PDFDocument,
  { panel: { shapes, mirror }, frame, scale, x, y }: Extract<Drawn, { kind: 'figure' }>,
): void {
  const [width, height] = [frame.width * scale, frame.height * scale];
  document.save();
  document.roundedRect(x, y, width, height, cornerPoints).clip();
  const left = mirror === 'left-right' ? x + width + frame.left * scale : x - frame.left * scale;
  const top = mirror === 'top-bottom' ? y + height + frame.top * scale : y - frame.top * scale;
  document.translate(left, top);
  // Path data is in millimeters of the body.
  const unit = scale / 10;
  document.scale(mirror === 'left-right' ? -unit : unit, mirror === 'top-bottom' ? -unit : unit, {});
  document.lineJoin('round').lineCap('round');
  for (const { d, pen, fill } of shapes.flatMap(strokesOf)) {
    if (pen !== null) {
      document.path(d).lineWidth(pen.widthCm * 10);
      if (pen.isDashed) document.dash(16, { space: 16 });
      document.stroke(onPaper[pen.ink]);
      if (pen.isDashed) document.undash();
    }
    if (fill !== null) document.path(d).fill(onPaper[fill]);
  }
  document.restore();
}
