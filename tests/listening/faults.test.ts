import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runFfmpeg } from '../../src/ffmpeg/runFfmpeg.js';
import { BlobCache } from '../../src/files/blobCache.js';
import { openClipLibrary, type SpeechClip } from '../../src/voice/clipLibrary.js';
import { openVoice } from '../../src/voice/openVoice.js';
import type { SpokenCue } from './compare.js';
import { listenTo } from './listenTo.js';
import { whyNoListener } from './recognise.js';

/** Proof that the listening test can fail: real speech in a real MP3 that departs from its script. */

const samplesPerMs = 24;
const missing = whyNoListener();
const texts = [
  'Next is the head press.',
  'Ready.',
  'And press.',
  'five',
  'four',
  'three',
  'two',
  'one',
  'And let go.',
  'Breathe out, and reach the left arm.',
  'Breathe in, and bring it home.',
  'Breathe out, and reach the right arm.',
];

describe.skipIf(missing !== '').each(['slt', 'rms'])(`a listener to the voice %s ${missing}`, (voice) => {
  let folder: string;
  let clips: ReadonlyMap<string, SpeechClip>;
  let script: SpokenCue[];

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'stillcount-faults-'));
    const library = openClipLibrary({
      engine: await openVoice(`embedded:${voice}`),
      cache: new BlobCache(folder),
      wordsPerMinute: 150,
      pronunciations: {},
    });
    try {
      clips = await library.clips(texts);
    } finally {
      await library.close();
    }
    let startMs = 1_000;
    script = texts.map((text) => {
      const endMs = startMs + clipOf(text).durationMs;
      const cue = { text, startMs, endMs };
      startMs = Math.ceil((endMs + 300) / 1000) * 1000;
      return cue;
    });
  });
  afterAll(() => rm(folder, { recursive: true, force: true }));

  function clipOf(text: string): SpeechClip {
    const clip = clips.get(text);
    if (clip === undefined) throw new Error(`no clip for ${text}`);
    return clip;
  }

  /** What the script says against what is played: the kind and the words of each fault. */
  async function faultsWhenPlayed(played: readonly SpokenCue[]): Promise<string[]> {
    const lengthMs = Math.max(...script.map(({ endMs }) => endMs)) + 2_000;
    const pcm = Buffer.alloc(lengthMs * samplesPerMs * 2);
    for (const { text, startMs } of played) {
      (await clipOf(text).samples()).forEach((sample, i) => {
        pcm.writeInt16LE(Math.round(sample * 32_767), (startMs * samplesPerMs + i) * 2);
      });
    }
    const file = join(folder, 'played.mp3');
    const mp3 = await runFfmpeg({
      input: pcm,
      inputOptions: ['-f', 's16le', '-ar', '24000', '-ac', '1'],
      outputOptions: ['-c:a', 'libmp3lame', '-q:a', '5', '-f', 'mp3'],
    });
    await writeFile(file, mp3);
    return (await listenTo(file, script)).faults.map(({ kind, text }) => `${kind}: ${text}`);
  }

  const changed = (text: string, change: (cue: SpokenCue) => SpokenCue[]): SpokenCue[] =>
    script.flatMap((cue) => (cue.text === text ? change(cue) : [cue]));

  it('has nothing to report when the script is played as it is', async () => {
    expect(await faultsWhenPlayed(script)).toEqual([]);
  });

  it('reports a cue that is not there', async () => {
    expect(await faultsWhenPlayed(changed('And let go.', () => []))).toEqual(['missing: And let go.']);
  });

  it('reports one count too few', async () => {
    expect(await faultsWhenPlayed(changed('three', () => []))).toEqual(['missing: three']);
  });

  it.each([-400, 400])('reports a cue that is moved by %i ms', async (byMs) => {
    const played = changed('four', (cue) => [{ ...cue, startMs: cue.startMs + byMs }]);
    expect(await faultsWhenPlayed(played)).toEqual(['misplaced: four']);
  });

  it('reports two swapped counts', async () => {
    const other: Record<string, string> = { four: 'two', two: 'four' };
    const faults = await faultsWhenPlayed(
      script.map((cue) => ({ ...cue, text: other[cue.text] ?? cue.text })),
    );
    expect(faults).toContain('missing: four');
    expect(faults.join()).toMatch(/foreign|missing: two/);
  });

  it('reports the wrong side', async () => {
    const left = 'Breathe out, and reach the left arm.';
    const right = 'Breathe out, and reach the right arm.';
    const faults = await faultsWhenPlayed(changed(left, (cue) => [{ ...cue, text: right }]));
    expect(faults).toContain(`missing: ${left}`);
  });

  it('reports a cue that no script asked for', async () => {
    const added = { text: 'five', startMs: (script.at(-1)?.endMs ?? 0) + 600, endMs: 0 };
    expect(await faultsWhenPlayed([...script, added])).toEqual(['foreign: five']);
  });
});
