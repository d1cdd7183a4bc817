import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeSession } from '../../src/session/makeSession.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { openWorkshop, type Workshop } from '../../src/session/workshop.js';
import { isWhole } from '../long.js';
import { spokenFolder } from '../session/spokenFolder.js';
import { listenTo } from './listenTo.js';
import { whyNoListener } from './recognise.js';

/**
 * The starter programs, heard by an independent recognizer (CMU PocketSphinx, Debian): every spoken cue of the first, which
 * is the one of the demo, and of the others every wording that was not heard in their voice before; the whole check hears
 * every cue of all.
 */

const starters = ['first', 'progressed', 'after-joint-replacement', 'breathing-and-relaxation'];
const missing = whyNoListener();

/** By voice, what was heard. */
const heardBefore = new Map<string, Set<string>>();

let folder: string;
let workshop: Workshop;
let spoken: Awaited<ReturnType<typeof spokenFolder>>;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-listening-'));
  spoken = await spokenFolder();
  workshop = await openWorkshop({ dataFolder: spoken.folder, templatesFolder: 'audio-templates' });
});
afterAll(async () => {
  await spoken.giveBack();
  await rm(folder, { recursive: true, force: true });
});

it('has a listener wherever the project is checked for good', () => {
  if (process.env.CI === 'true') expect(missing).toBe('');
  else expect(missing).toMatch(/^$|^skipped: .+ missing/);
});

describe.skipIf(missing !== '')(`an independent listener ${missing}`, () => {
  it.each(starters)('hears what %s says in order, within 0.25 s', async (name) => {
    const program = await readProgramFile(`audio-templates/en/programs/${name}.yaml`, workshop);
    const { script, audio } = await makeSession(program, workshop);
    const file = join(folder, `${name}.mp3`);
    await writeFile(file, audio.read(0, audio.byteLength));
    const cues = script.cues.flatMap(({ text, startMs, endMs }) =>
      text === undefined ? [] : [{ text, startMs, endMs }],
    );
    const known = heardBefore.get(program.voice) ?? new Set();
    heardBefore.set(program.voice, known);
    const hearsAll = name === 'first' || isWhole('listener');
    const comparison = await listenTo(file, cues, hearsAll ? undefined : known);
    for (const { text } of comparison.cues) known.add(text);
    expect(comparison.faults).toEqual([]);
    expect(comparison.offsetsMs).toHaveLength(comparison.cues.length);
    expect([...known]).toEqual(expect.arrayContaining(cues.map(({ text }) => text)));
    if (hearsAll) expect(comparison.cues).toEqual(cues);
  });
});
