import { mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { runFfmpeg, runFfmpegWithLog } from '../../src/ffmpeg/runFfmpeg.js';
import { BlobCache } from '../../src/files/blobCache.js';
import { integratedLoudness, slidingLoudness } from '../../src/signal/loudness.js';
import { openClipLibrary, type SpeechClip } from '../../src/voice/clipLibrary.js';
import { openVoice } from '../../src/voice/openVoice.js';
import type { SpeechRequest, VoiceEngine } from '../../src/voice/voice.js';

const counts = ['five', 'four', 'three', 'two', 'one'];
const sentences = [
  'Press the back of your head straight back into the towel.',
  'Let your shoulders grow heavy, and let the breath come and go.',
];
const texts = [...counts, 'and let go', ...sentences];

let folder: string;
let engine: VoiceEngine;
beforeAll(async () => {
  engine = await openVoice('embedded:slt');
});
afterAll(() => engine.close());
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-clips-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

function open(
  options: { engine?: VoiceEngine; pronunciations?: Record<string, string>; rate?: number } = {},
) {
  return openClipLibrary({
    engine: options.engine ?? engine,
    cache: new BlobCache(folder),
    wordsPerMinute: options.rate ?? 135,
    pronunciations: options.pronunciations ?? {},
  });
}

async function contents(clips: ReadonlyMap<string, SpeechClip>): Promise<Map<string, Buffer>> {
  const entries = [...clips.values()].map(async (clip) => {
    const samples = await clip.samples();
    return [clip.text, Buffer.from(samples.buffer, samples.byteOffset, samples.byteLength)] as const;
  });
  return new Map(await Promise.all(entries));
}

async function cacheFiles(): Promise<string[]> {
  const paths = (await readdir(folder, { recursive: true })).map((name) => join(folder, name));
  const files = await Promise.all(paths.map(async (path) => ((await stat(path)).isFile() ? [path] : [])));
  return files.flat();
}

describe('the clip library', () => {
  it('measures every wording in whole milliseconds and asks the voice once for each', async () => {
    const library = open();
    const clips = await library.clips([...texts, ...texts]);
    expect([...clips.keys()]).toEqual(texts);
    expect(library.voiceCalls).toBe(texts.length);
    for (const clip of clips.values()) {
      expect(Number.isInteger(clip.durationMs) && Number.isInteger(clip.beatOffsetMs)).toBe(true);
      expect(clip.beatOffsetMs).toBeGreaterThan(0);
      expect(clip.beatOffsetMs).toBeLessThan(clip.durationMs);
      expect(clip.lengthSamples).toBe(24 * clip.durationMs);
      expect((await clip.samples()).length).toBe(clip.lengthSamples);
    }
  });

  it('asks for nothing that is cached, also in another run, and only for what is new', async () => {
    await open().clips(texts);
    const again = open();
    await again.clips(texts);
    expect(again.voiceCalls).toBe(0);
    await again.clips([...texts, 'six']);
    expect(again.voiceCalls).toBe(1);
  });

  it('makes the same samples whatever the order and however many at once', async () => {
    const parallel = await contents(await open().clips(texts));
    await rm(folder, { recursive: true });
    const oneByOne = { ...bare(engine), parallel: 1 };
    const serial = await contents(await open({ engine: oneByOne }).clips([...texts].reverse()));
    for (const text of texts)
      expect(serial.get(text)?.equals(parallel.get(text) ?? Buffer.alloc(0))).toBe(true);
  });

  it('makes another clip for another rate, pronunciation or voice, and the same for the same spoken words', async () => {
    const keyOf = async (library: ReturnType<typeof open>, text = 'five') =>
      (await library.clips([text])).get(text)?.key;
    const usual = await keyOf(open());
    expect(await keyOf(open({ rate: 120 }))).not.toBe(usual);
    expect(await keyOf(open({ pronunciations: { five: 'fife' } }))).not.toBe(usual);
    expect(await keyOf(open({ engine: { ...bare(engine), fingerprint: 'another' } }))).not.toBe(usual);
    expect(await keyOf(open({ pronunciations: { V: 'five' } }), 'V')).toBe(usual);
  });

  it('makes a clip anew whose cache entry is damaged, cut or gone, before and after it was measured', async () => {
    const library = open();
    const clips = await library.clips(['five']);
    const before = await contents(clips);
    const [path = ''] = await cacheFiles();
    const whole = await readFile(path);
    const damaged = Buffer.from(whole);
    damaged[200] = (damaged[200] ?? 0) ^ 1;
    for (const bytes of [damaged, whole.subarray(0, 300), Buffer.alloc(0)]) {
      await writeFile(path, bytes);
      expect(await contents(clips)).toEqual(before);
      await writeFile(path, bytes);
      expect(await contents(await library.clips(['five']))).toEqual(before);
    }
    await rm(path);
    expect(await contents(clips)).toEqual(before);
    expect(library.voiceCalls).toBe(8);
  });

  it('keeps what was finished when the voice fails half-way', async () => {
    let calls = 0;
    const failing: VoiceEngine = {
      ...bare(engine),
      parallel: 1,
      synthesise: (request: SpeechRequest) => {
        calls += 1;
        return calls > 3 ? Promise.reject(new Error('the voice is gone')) : engine.synthesise(request);
      },
    };
    await expect(open({ engine: failing }).clips(texts)).rejects.toThrow('the voice is gone');
    expect(calls).toBe(4);
    const next = open();
    await next.clips(texts);
    expect(next.voiceCalls).toBe(texts.length - 3);
  });

  it('reports progress up to the number of distinct wordings', async () => {
    const seen: string[] = [];
    const library = openClipLibrary({
      engine,
      cache: new BlobCache(folder),
      wordsPerMinute: 135,
      pronunciations: {},
      onProgress: (done, total) => seen.push(`${done}/${total}`),
    });
    await library.clips(['five', 'four', 'five']);
    expect(seen).toEqual(['1/2', '2/2']);
  });
});

/** An engine as a plain object, so that a test can change one of its properties. */
function bare(from: VoiceEngine): VoiceEngine {
  const { id, fingerprint, parallel } = from;
  return {
    id,
    fingerprint,
    parallel,
    synthesise: (request) => from.synthesise(request),
    close: async () => {},
  };
}

describe.each(['embedded:slt', 'embedded:rms'])('the level of %s', (id) => {
  it('reads -16 LUFS within 1 and stays under -1 dBTP after MP3, by the meter of ffmpeg (EBU R128)', async () => {
    const voice = await openVoice(id);
    const library = open({ engine: voice });
    const clips = await library.clips(texts);
    const parts: Float32Array[] = [];
    for (const text of [...sentences, ...counts, 'and let go', ...counts, 'and let go', ...sentences]) {
      const clip = clips.get(text) ?? expect.unreachable();
      const slotMs = counts.includes(text) ? 1000 : clip.durationMs + 600;
      const slot = new Float32Array(24 * Math.max(slotMs, clip.durationMs));
      slot.set(await clip.samples());
      parts.push(slot);
    }
    const coded = await runFfmpeg({
      input: Buffer.concat(parts.map((part) => Buffer.from(part.buffer))),
      inputOptions: ['-f', 'f32le', '-ar', '24000', '-ac', '1'],
      outputOptions: ['-c:a', 'libmp3lame', '-q:a', '5', '-f', 'mp3'],
    });
    const { log } = await runFfmpegWithLog({
      input: coded,
      inputOptions: ['-f', 'mp3'],
      outputOptions: ['-f', 'null'],
      filters: ['ebur128=peak=true'],
    });
    const summary = log.slice(log.lastIndexOf('Summary'));
    expect(Math.abs(Number(/I:\s+(-?[\d.]+) LUFS/.exec(summary)?.[1]) + 16)).toBeLessThan(1);
    expect(Number(/Peak:\s+(-?[\d.]+) dBFS/.exec(summary)?.[1])).toBeLessThanOrEqual(-1);

    const loudest = async (text: string) => {
      const samples = await (clips.get(text) ?? expect.unreachable()).samples();
      return Math.max(...slidingLoudness([samples], 24_000, 400));
    };
    const sentenceLevel = await loudest(sentences[0] ?? '');
    for (const text of counts) {
      expect(Math.abs((await loudest(text)) - sentenceLevel), `${text} against a sentence`).toBeLessThan(4);
      const own = await (clips.get(text) ?? expect.unreachable()).samples();
      expect(Math.abs(integratedLoudness(own, 24_000) + 15.4), text).toBeLessThan(1.2);
    }
    await voice.close();
  });
});
