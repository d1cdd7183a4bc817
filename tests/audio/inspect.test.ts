import { beforeAll, describe, expect, it, vi } from 'vitest';
import { formatInspection } from '../../src/audio/inspect/formatInspection.js';
import type { Inspection } from '../../src/audio/inspect/inspection.js';
import { inspectSession } from '../../src/audio/inspect/inspectSession.js';
import { readScript } from '../../src/audio/inspect/readScript.js';
import { walkFrames } from '../../src/audio/mp3Frame.js';
import { renderSession } from '../../src/audio/renderSession.js';
import { seekHeaderBytes } from '../../src/audio/seekHeader.js';
import { SegmentStore } from '../../src/audio/segmentStore.js';
import { sessionTag } from '../../src/audio/sessionTag.js';
import { BlobCache } from '../../src/files/blobCache.js';
import type { Cue, TimedScript } from '../../src/script/timedScript.js';
import { fakeFfmpeg } from '../ffmpeg/fakeFfmpeg.js';
import { isWhole } from '../long.js';
import { testClips, testScript, tonedScript } from './testScript.js';
import { audioFolder, noise } from './testSounds.js';

const script = testScript();
const store = new SegmentStore(new BlobCache(audioFolder()));

async function fileOf(made: TimedScript): Promise<Buffer> {
  const audio = await renderSession(made, testClips(made), store);
  return audio.read(0, audio.byteLength);
}

const failed = (inspection: Inspection) => inspection.rows.filter((row) => !row.ok).map((row) => row.check);
const withCues = (change: (cue: Cue, index: number) => Cue): TimedScript => ({
  ...script,
  cues: script.cues.map(change),
});

let file: Buffer;
let soundStart: number;
beforeAll(async () => {
  file = await fileOf(script);
  soundStart = sessionTag(script).length + seekHeaderBytes;
});

describe('a sound session', () => {
  it('passes every check against its script', async () => {
    const inspection = await inspectSession(file, script);
    expect(failed(inspection)).toEqual([]);
    expect(inspection.passed).toBe(true);
    expect(inspection.rows.map((row) => row.check)).toEqual([
      ...['frames', 'seek-header', 'seek-totals', 'length-stated', 'length-reader', 'length-script'],
      ...['loudness', 'true-peak', 'speech-heard', 'soft-heard', 'background', 'beat-worst', 'beat-mean'],
      ...['silence-kept', 'longest-silence', 'title', 'chapters', 'chapter-count', 'words'],
    ]);
  });

  it('passes without its script', async () => {
    expect((await inspectSession(file, null)).passed).toBe(true);
  });

  it('is shown as a table with a verdict', async () => {
    const table = formatInspection(await inspectSession(file, script)).split('\n');
    expect(table[0]).toMatch(/^ +check +measured +allowed$/);
    expect(table.filter((line) => line.startsWith('ok')).length).toBe(19);
    expect(table[table.length - 1]).toBe('All checks passed.');
  });
});

describe('counts that are tones', () => {
  it('pass every check, are heard at their time, and are missed when they are not there', async () => {
    const toned = tonedScript();
    const inspection = await inspectSession(await fileOf(toned), toned);
    expect(failed(inspection)).toEqual([]);
    expect(inspection.rows.find(({ check }) => check === 'counted-tones')?.measured).toBe('8 of 8');
    const moved = {
      ...toned,
      cues: toned.cues.map((cue) => {
        if (cue.tone?.direction !== 'level') return cue;
        const span = { startMs: cue.startMs + 400, endMs: cue.endMs + 400 };
        return { ...cue, ...span, tone: { ...cue.tone, ...span } };
      }),
    };
    expect(failed(await inspectSession(await fileOf(toned), moved))).toContain('counted-tones');
  });
});

describe('a script that is not the one of the file', () => {
  it.each<[string, () => TimedScript, string[]]>([
    [
      'one beat 8 ms off',
      () => withCues((cue) => (cue.text === 'four' ? { ...cue, beatMs: (cue.beatMs ?? 0) + 8 } : cue)),
      ['beat-worst'],
    ],
    [
      'a word in a silence',
      () =>
        withCues((cue, i) =>
          i === 0 ? cue : cue.role === 'finish' ? { ...cue, startMs: 65_000, endMs: 67_000 } : cue,
        ),
      ['speech-heard', 'beat-worst', 'beat-mean', 'silence-kept', 'words'],
    ],
    [
      'a presence sound that is not there',
      () => withCues((cue) => (cue.kind === 'presence' ? { ...cue, startMs: 66_000, endMs: 67_200 } : cue)),
      ['soft-heard', 'silence-kept'],
    ],
    ['a shorter presence interval', () => ({ ...script, presenceIntervalMs: 10_000 }), ['longest-silence']],
    [
      'other chapters and another title',
      () => ({
        ...script,
        title: 'Other',
        chapters: script.chapters.map((chapter) => ({ ...chapter, startMs: chapter.startMs + 1 })),
      }),
      ['title', 'chapters', 'words'],
    ],
    ['another length', () => ({ ...script, durationMs: script.durationMs + 1 }), ['length-script']],
  ])('%s: does not pass', async (_name, change, expected) => {
    const found = failed(await inspectSession(file, change()));
    for (const check of expected) expect(found).toContain(check);
  });
});

describe('a damaged file', () => {
  it('that is cut short does not pass', async () => {
    const found = failed(await inspectSession(file.subarray(0, Math.floor(file.length * 0.7)), script));
    expect(found).toEqual(expect.arrayContaining(['seek-totals', 'length-stated', 'speech-heard']));
  });

  it('with one bit of sound turned over does not pass', async () => {
    const bent = Buffer.from(file);
    const { starts } = walkFrames(file, sessionTag(script).length);
    const inFrame = (starts[60] ?? 0) + 20;
    bent[inFrame] = (bent[inFrame] ?? 0) ^ 0x10;
    expect(failed(await inspectSession(bent, script))).toContain('seek-totals');
  });

  it('with a frame lost does not pass', async () => {
    const { starts } = walkFrames(file, sessionTag(script).length);
    const lost = Buffer.concat([file.subarray(0, starts[500]), file.subarray(starts[501])]);
    expect(failed(await inspectSession(lost, script))).toEqual(
      expect.arrayContaining(['seek-totals', 'length-stated']),
    );
  });

  it('whose sound is full of noise, or gone, gives a verdict and no crash', async () => {
    const random = noise(3);
    const noisy = Buffer.from(file);
    for (let i = soundStart; i < noisy.length; i += 1) noisy[i] = Math.floor(128 + 127 * random());
    for (const bytes of [
      noisy,
      file.subarray(0, soundStart),
      file.subarray(0, 12),
      Buffer.from([0xff, 0xf3]),
    ]) {
      expect((await inspectSession(bytes, script)).passed).toBe(false);
    }
  });

  it('with bytes turned over anywhere never crashes, and never passes with a broken frame', async () => {
    const random = noise(11);
    for (let run = 0; run < (isWhole('starters') ? 12 : 5); run += 1) {
      const bent = Buffer.from(file);
      const start = Math.floor(((random() + 1) / 2) * (bent.length - 400)) + 3;
      for (let i = start; i < start + 300; i += 1) bent[i] = Math.floor(128 + 127 * random());
      const inspection = await inspectSession(bent, script);
      if (start > soundStart) expect(inspection.passed).toBe(false);
      expect(inspection.rows.length).toBeGreaterThan(3);
    }
  });

  it('that is no MP3 is refused in plain words', async () => {
    for (const bytes of [Buffer.alloc(0), Buffer.from('RIFF....WAVE'), Buffer.from('# a program')]) {
      await expect(inspectSession(bytes, script)).rejects.toMatchObject({ kind: 'input' });
    }
  });

  it('is not blamed when ffmpeg is missing, or is ended by the system', async () => {
    const killed = process.platform === 'win32' ? [] : [await fakeFfmpeg('kill -9 $$')];
    for (const path of ['/nowhere/ffmpeg', ...killed]) {
      vi.stubEnv('STILLCOUNT_FFMPEG', path);
      try {
        await expect(inspectSession(file, script)).rejects.toMatchObject({ kind: 'work' });
      } finally {
        vi.unstubAllEnvs();
      }
    }
  });
});

describe('reading a script', () => {
  it('gives back what was written', () => {
    expect(readScript(JSON.stringify(script), 'session.script.json')).toEqual(script);
  });

  it.each<[string, string, string]>([
    ['no JSON', '{', 'this is not JSON'],
    ['a list', '[]', 'wrong kind of value'],
    ['a wrong time', JSON.stringify({ ...script, durationMs: -1 }), 'durationMs'],
    ['a cue after the end', JSON.stringify({ ...script, durationMs: 70_000 }), 'cues['],
    ['a chapter that is not there', JSON.stringify(withCues((cue) => ({ ...cue, chapter: 9 }))), 'chapter 9'],
  ])('%s: says where', (_name, text, said) => {
    expect(() => readScript(text, 'session.script.json')).toThrow(said);
    expect(() => readScript(text, 'session.script.json')).toThrow('session.script.json');
  });
});
