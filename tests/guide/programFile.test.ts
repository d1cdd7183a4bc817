import { readFile } from 'node:fs/promises';
import { expect, it } from 'vitest';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import { dosesHeard } from '../../src/script/doseHeard.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';

it('reads and lays out the program that the guide shows', async () => {
  const chapter = await readFile('src/guide/chapters/program-files.md', 'utf8');
  const example = /```yaml\n(?<text>[\s\S]*?)```/.exec(chapter)?.groups?.text ?? '';
  const program = readProgram(example, 'program-files.md', await readCatalogues('audio-templates'));
  const script = await buildScript(program, async (wordings) => {
    // About as long as the embedded voices take.
    return new Map(
      wordings.map(({ text }) => [text, { durationMs: 200 + 60 * text.length, beatOffsetMs: 60 }]),
    );
  });
  expect(script.chapters.map(({ exercise }) => exercise)).toEqual([
    undefined,
    'rest-arms-open',
    'head-press',
    'arm-reach',
    'out-of-bed',
    undefined,
  ]);
  const headPress = dosesHeard(script).find(({ exercise }) => exercise === 'head-press');
  expect(headPress?.underTensionSeconds, '5 presses of 5 s (facts of the trade: common practice)').toBe(25);
});
