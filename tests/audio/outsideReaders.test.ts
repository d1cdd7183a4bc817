import { execFileSync, spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseBuffer } from 'music-metadata';
import { beforeAll, describe, expect, it } from 'vitest';
import { decodeMp3 } from '../../src/audio/decodeMp3.js';
import { walkFrames } from '../../src/audio/mp3Frame.js';
import { renderSession } from '../../src/audio/renderSession.js';
import { SegmentStore } from '../../src/audio/segmentStore.js';
import { runFfmpegWithLog } from '../../src/ffmpeg/runFfmpeg.js';
import { BlobCache } from '../../src/files/blobCache.js';
import { integratedLoudness } from '../../src/signal/loudness.js';
import { sampleRateHz } from '../../src/signal/sampleRate.js';
import { truePeakDbtp } from '../../src/signal/truePeak.js';
import { testClips, testScript } from './testScript.js';
import { audioFolder } from './testSounds.js';

// What programs that know nothing of this project find in a rendered session (invariants A1, A3, A5).

const script = testScript();
const path = join(audioFolder(), 'session.mp3');
let file: Buffer;
beforeAll(async () => {
  const audio = await renderSession(
    script,
    testClips(script),
    new SegmentStore(new BlobCache(audioFolder())),
  );
  file = audio.read(0, audio.byteLength);
  writeFileSync(path, file);
});

function isInstalled(program: string): boolean {
  return spawnSync(program, ['--version']).error === undefined;
}

/** Skips where a validator is not installed, but never in CI. */
function mayBeMissing(command: string): boolean {
  return !isInstalled(command) && process.env.CI !== 'true';
}

/** Bytes 0x00 and 0xff where frames should be: every validator must object to this (the control). */
function brokenCopy(): string {
  const broken = Buffer.from(file);
  const { starts } = walkFrames(file, file.indexOf(Buffer.from('fff384c4', 'hex')));
  broken.fill(0, starts[700], starts[702]);
  const brokenPath = join(audioFolder(), 'broken.mp3');
  writeFileSync(brokenPath, broken);
  return brokenPath;
}

describe('mp3val (Debian package mp3val)', () => {
  it.skipIf(mayBeMissing('mp3val'))(
    'finds nothing to object to [skipped where mp3val is not installed]',
    () => {
      const report = execFileSync('mp3val', [path]).toString();
      expect(report).toContain('3193 MPEG frames (MPEG 2 Layer III), +ID3v2, Xing header');
      expect(report).not.toMatch(/WARNING|ERROR/);
      expect(execFileSync('mp3val', [brokenCopy()]).toString()).toMatch(/WARNING|ERROR/);
    },
  );
});

describe('mp3check (Debian package mp3check)', () => {
  // -S: it does not know ID3v2 tags and calls them junk. -B: it allows variable bit rates.
  const check = (checkedPath: string) =>
    spawnSync('mp3check', ['-e', '-B', '-S', checkedPath]).stdout.toString();
  it.skipIf(mayBeMissing('mp3check'))(
    'finds nothing to object to [skipped where mp3check is not installed]',
    () => {
      expect(check(path)).toBe('');
      expect(check(brokenCopy())).not.toBe('');
    },
  );
});

describe('music-metadata', () => {
  it('reads format, length, title, words and chapters', async () => {
    const { format, common, quality } = await parseBuffer(file, {
      mimeType: 'audio/mpeg',
      size: file.length,
    });
    expect(quality.warnings).toEqual([]);
    expect(format).toMatchObject({ codec: 'MPEG 2 Layer 3', sampleRate: 24_000, numberOfChannels: 1 });
    // It counts whole frames and knows nothing of the samples to drop: 3192 frames of 24 ms.
    expect(format.duration).toBeCloseTo(76.608, 6);
    expect(common.title).toBe(script.title);
    expect(common.lyrics?.[0]?.text).toContain('Well done. Roll onto your side');
    expect(format.chapters?.map(({ title, start, end }) => [title, start, end])).toEqual(
      script.chapters.map(({ title, startMs, endMs }) => [title, startMs / 1000, endMs / 1000]),
    );
  });
});

describe('ffmpeg', () => {
  it('decodes to exactly the length of the script', async () => {
    expect((await decodeMp3(file)).length).toBe(script.durationMs * 24);
  });

  it('reads chapters and title', async () => {
    const { output } = await runFfmpegWithLog({
      input: { filePath: path },
      // Without -copyts it moves chapters forward by the codec's delay.
      inputOptions: ['-copyts'],
      outputOptions: ['-f', 'ffmetadata'],
    });
    const text = output.toString();
    expect(text).toContain(`title=${script.title}`);
    const chapters = [...text.matchAll(/START=(\d+)\nEND=(\d+)\ntitle=(.*)/g)];
    expect(chapters.map(([, start, end, title]) => [title, Number(start), Number(end)])).toEqual(
      script.chapters.map(({ title, startMs, endMs }) => [title, startMs, endMs]),
    );
  });

  it('reads the same loudness and true peak with its EBU R128 meter', async () => {
    const { log } = await runFfmpegWithLog({
      input: { filePath: path },
      inputOptions: [],
      filters: ['ebur128=peak=true'],
      outputOptions: ['-f', 'null'],
    });
    const last = (pattern: RegExp) => Number([...log.matchAll(pattern)].pop()?.[1]);
    const samples = await decodeMp3(file);
    expect(
      Math.abs(integratedLoudness(samples, sampleRateHz) - last(/I:\s+(-?[\d.]+) LUFS/g)),
    ).toBeLessThanOrEqual(0.1);
    expect(
      Math.abs(truePeakDbtp(samples, sampleRateHz) - last(/Peak:\s+(-?[\d.]+) dBFS/g)),
    ).toBeLessThanOrEqual(0.3);
  });
});
