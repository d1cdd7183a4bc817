import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

/** Reads PDFs as others do: Poppler's pdftotext, pdfinfo, pdffonts and pdftoppm (Debian: poppler-utils). */
export const hasPoppler = (process.env.PATH ?? '')
  .split(path.delimiter)
  .some((folder) => existsSync(path.join(folder, 'pdftotext')));
export const whyNoPoppler = 'no Poppler is installed (Debian: apt-get install poppler-utils)';

function withFile<Result>(pdf: Uint8Array, read: (file: string, folder: string) => Result): Result {
  const folder = mkdtempSync(path.join(tmpdir(), 'stillcount-pdf-'));
  try {
    const file = path.join(folder, 'paper.pdf');
    writeFileSync(file, pdf);
    return read(file, folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const run = (program: string, ...words: string[]) => execFileSync(program, words, { encoding: 'utf8' });

/** Its text as a reader copies it, lines joined; marks that only steer the direction of writing are left out. */
export function textOf(pdf: Uint8Array): string {
  return withFile(pdf, (file) => run('pdftotext', file, '-'))
    .replaceAll(/[\u200E\u200F\u202A-\u202E\u2066-\u2069]/g, '')
    .replaceAll(/\s+/g, ' ');
}

/** Each word with the place of its left edge, in points. */
export function wordsIn(pdf: Uint8Array): { text: string; left: number }[] {
  const marked = withFile(pdf, (file) => run('pdftotext', '-bbox', file, '-'));
  return [...marked.matchAll(/<word xMin="([\d.]+)"[^>]*>([^<]*)<\/word>/g)].map(([, left, text = '']) => ({
    text: text.replaceAll(/[\u200E\u200F\u202A-\u202E]/g, ''),
    left: Number(left),
  }));
}

/** Its structure tree, one tag a line, indented. */
export function structureOf(pdf: Uint8Array): string[] {
  return withFile(pdf, (file) => run('pdfinfo', '-struct', file))
    .split('\n')
    .map((line) => line.replace(/ \(.*\)$/, ''))
    .filter((line) => line !== '');
}

/** What it says of itself: `Pages`, `Tagged`, `Title`, `Page size`. */
export function infoOf(pdf: Uint8Array): Map<string, string> {
  const lines = withFile(pdf, (file) => run('pdfinfo', file)).split('\n');
  return new Map(lines.map((line) => [line.split(':')[0] ?? '', line.slice(line.indexOf(':') + 1).trim()]));
}

/** Its fonts, each with whether it is embedded, is a subset, and tells what its shapes stand for. */
export function fontsOf(pdf: Uint8Array): { name: string; isWhole: boolean }[] {
  const lines = withFile(pdf, (file) => run('pdffonts', file))
    .split('\n')
    .slice(2);
  return lines
    .filter(Boolean)
    .map((line) => ({ name: line.split(' ')[0] ?? '', isWhole: / yes yes yes /.test(line) }));
}

/** A page as gray values, at 50 dots an inch. */
export function pictureOf(
  pdf: Uint8Array,
  page: number,
): { width: number; height: number; grey: Uint8Array } {
  return withFile(pdf, (file, folder) => {
    const place = path.join(folder, 'page');
    run('pdftoppm', '-r', '50', '-gray', '-singlefile', '-f', String(page), file, place);
    const bytes = readFileSync(`${place}.pgm`);
    const head = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(bytes.subarray(0, 40).toString('latin1'));
    const [width, height] = [Number(head?.[1]), Number(head?.[2])];
    return { width, height, grey: bytes.subarray(head?.[0].length ?? 0) };
  });
}
