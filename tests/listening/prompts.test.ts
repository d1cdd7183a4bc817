import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { renderSession } from '../../src/audio/renderSession.js';
import { promptKeys } from '../../src/listening/plan.js';
import { promptScript } from '../../src/session/promptScript.js';
import { readProgramFile } from '../../src/session/readProgramFile.js';
import { type ClinicWorkshop, openClinicWorkshop } from '../../src/session/workshop.js';
import type { SpeechClip } from '../../src/voice/clipLibrary.js';
import { spokenFolder } from '../session/spokenFolder.js';
import { listenTo } from './listenTo.js';
import { whyNoListener } from './recognise.js';

/** The sentences around a session, heard by an independent recognizer (CMU PocketSphinx, Debian). */

const missing = whyNoListener();
const betweenMs = 1_500;

let folder: string;
let workshop: ClinicWorkshop;
let spoken: Awaited<ReturnType<typeof spokenFolder>>;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-prompts-'));
  spoken = await spokenFolder();
  workshop = await openClinicWorkshop({ dataFolder: spoken.folder, templatesFolder: 'audio-templates' });
});
afterAll(async () => {
  await spoken.giveBack();
  await rm(folder, { recursive: true, force: true });
});

describe.skipIf(missing !== '')(`an independent listener ${missing}`, () => {
  it('hears every sentence around a session, among all of them', async () => {
    const program = await readProgramFile('audio-templates/en/programs/first.yaml', workshop);
    const signs = workshop.warningSigns.signs.map(({ words }) => `${words}.`).join(' ');
    const texts = promptKeys.map((key) => workshop.prompts.say(key, { name: 'Rosa', signs }));
    const clips = new Map<string, SpeechClip>();
    const cues = [];
    let startMs = betweenMs;
    for (const text of texts) {
      // As the service makes it, and then one after the other, so that each can be mistaken for another.
      const prompt = await promptScript(program, text, workshop);
      const clip = prompt.clips.get(text);
      const [cue] = prompt.script.cues;
      if (clip === undefined || cue === undefined) return expect.unreachable(text);
      clips.set(text, clip);
      cues.push({ ...cue, startMs, endMs: startMs + clip.durationMs });
      startMs += clip.durationMs + betweenMs;
    }
    const { script } = await promptScript(program, texts[0] ?? '', workshop);
    const chapters = script.chapters.map((chapter) => ({ ...chapter, endMs: startMs }));
    const audio = await renderSession(
      { ...script, durationMs: startMs, chapters, cues },
      clips,
      workshop.segments,
    );
    const file = join(folder, 'prompts.mp3');
    await writeFile(file, audio.read(0, audio.byteLength));
    const spoken = cues.map((cue) => ({ text: cue.text ?? '', startMs: cue.startMs, endMs: cue.endMs }));
    const comparison = await listenTo(file, spoken);
    expect(comparison.faults).toEqual([]);
    expect(comparison.offsetsMs).toHaveLength(promptKeys.length);
  });
});
