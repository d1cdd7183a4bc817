import { expect, it } from 'vitest';
import { sideAt } from '../../src/browser/listen/resume.js';
import { readProgram } from '../../src/program/readProgram.js';
import { buildScript } from '../../src/script/buildScript.js';
import { listSides } from '../../src/script/sides.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { voiceOf } from './arbitraries.js';

it('knows at every cue which side is worked on, and leads up to the first one', async () => {
  const chosen = [
    'heel-slide, side: both',
    'head-press',
    'arm-reach, side: alternate',
    'knee-to-chest, side: right',
  ];
  const exercises = chosen.map((each) => `{ exercise: ${each} }`).join(', ');
  const text = `format: stillcount-program/1\ntitle: Test\nexercises: [${exercises}]\n`;
  const program = readProgram(text, 'test.yaml', await readCatalogues('audio-templates'));
  const script = await buildScript(program, voiceOf(3, { min: 300, max: 340 }));
  const played = { chapters: script.chapters, sides: listSides(script) };
  const sided = script.cues.filter(({ side }) => side !== undefined);
  expect(sided.length).toBeGreaterThan(50);
  for (const { side, startMs, text: words } of sided) expect(sideAt(played, startMs), words).toBe(side);
  expect(script.chapters.map(({ startMs }) => sideAt(played, startMs))).toEqual([
    null,
    'left',
    null,
    'left',
    'right',
    null,
  ]);
  expect(
    sideAt({ chapters: script.chapters }, script.durationMs / 2),
    'kept before there were sides',
  ).toBeNull();
});
