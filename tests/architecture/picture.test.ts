import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { expect, it } from 'vitest';
import { drawPicture, putInto } from '../../scripts/picture/draw.js';
import { directArrows, type Folder, inCircles, readCode } from '../../scripts/picture/folderGraph.js';

const root = path.resolve(import.meta.dirname, '../..');
const lineCounts = /[\d,]+ lines/g;

it('the picture in the guide shows the folders and arrows of today; lengths may differ by a tenth', async () => {
  const guide = await readFile(path.join(root, 'DEVELOPERS.md'), 'utf8');
  const today = putInto(guide, drawPicture(await readCode(root)));
  expect(guide.replace(lineCounts, 'lines'), 'npm run picture draws it anew').toBe(
    today.replace(lineCounts, 'lines'),
  );
  const linesIn = (text: string) =>
    (text.match(lineCounts) ?? []).map((found) => Number.parseInt(found.replaceAll(',', ''), 10));
  const drawn = linesIn(guide);
  for (const [index, lines] of linesIn(today).entries()) {
    const off = Math.abs((drawn[index] ?? 0) - lines);
    expect(off, 'npm run picture draws it anew').toBeLessThanOrEqual(Math.max(40, lines / 10));
  }
});

const folder = (name: string, ...needs: string[]): Folder => ({ name, files: 1, lines: 1, needs });

it('an arrow is left out where a way over another folder leads there, and circles are named', () => {
  const ladder = [folder('a', 'b', 'c'), folder('b', 'c'), folder('c')];
  expect(directArrows(ladder)).toEqual([
    ['a', 'b'],
    ['b', 'c'],
  ]);
  expect(inCircles(ladder)).toEqual([]);
  const circle = [folder('a', 'b'), folder('b', 'c'), folder('c', 'b')];
  expect(inCircles(circle)).toEqual(['b', 'c']);
  expect(directArrows(circle)).toEqual([
    ['a', 'b'],
    ['b', 'c'],
    ['c', 'b'],
  ]);
});
