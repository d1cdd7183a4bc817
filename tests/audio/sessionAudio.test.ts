import { readdirSync, statSync, truncateSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it, vi } from 'vitest';
import { decodeMp3 } from '../../src/audio/decodeMp3.js';
import {
  codecDelaySamples,
  frameBytes,
  frameSamples,
  silentFrame,
  walkFrames,
} from '../../src/audio/mp3Frame.js';
import { SegmentStore } from '../../src/audio/segmentStore.js';
import type { PlacedSound } from '../../src/audio/sound.js';
import { BlobCache } from '../../src/files/blobCache.js';
import { fakeFfmpeg } from '../ffmpeg/fakeFfmpeg.js';
import { audioFolder, mixed, rendered, signalToNoiseDb, speechAt } from './testSounds.js';

const newStore = (folder = audioFolder()) => new SegmentStore(new BlobCache(folder));

function filesUnder(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .map((name) => join(folder, name))
    .filter((path) => statSync(path).isFile());
}

/** Where the sum of products of both is largest, in samples, looked for up to 40 samples either way. */
function lagSamples(expected: Float32Array, actual: Float32Array): number {
  let best = { lag: Number.NaN, product: -Infinity };
  for (let lag = -40; lag <= 40; lag += 1) {
    let product = 0;
    for (let i = 40; i < expected.length - 40; i += 1) product += (expected[i] ?? 0) * (actual[i + lag] ?? 0);
    if (product > best.product) best = { lag, product };
  }
  return best.lag;
}

const anySounds = fc
  .array(
    fc.record({
      startSample: fc.nat({ max: 240_000 }),
      seed: fc.nat({ max: 3 }),
      lengthSamples: fc.constantFrom(2400, 7001, 24_000),
    }),
    { minLength: 1, maxLength: 8 },
  )
  .map((list) => list.map((sound) => speechAt(sound.startSample, sound.seed, sound.lengthSamples)));

describe('frame arithmetic', () => {
  // ISO/IEC 13818-3 (MPEG-2 Layer III: 576 samples a frame, 72 x bit rate / sample rate bytes).
  it('follows the standard', () => {
    expect([8, 64, 160].map(frameBytes)).toEqual([24, 192, 480]);
    expect((15 * 60 * 24_000) / frameSamples).toBe(37_500);
    expect(37_500 * frameBytes(64)).toBe(7_200_000);
    expect(silentFrame.subarray(0, 4).toString('hex')).toBe('fff314c4');
  });
});

describe('a session put together from frames', () => {
  it('decodes to the plain mix of its sounds, at exactly their place', async () => {
    const store = newStore();
    await fc.assert(
      fc.asyncProperty(anySounds, async (sounds) => {
        const audio = await rendered(sounds, 11_020, store);
        const heard = await decodeMp3(audio.read(0, audio.byteLength));
        const expected = await mixed(sounds, 11_020 * 24);
        expect(heard.length).toBe(11_020 * 24);
        // A plain encode of such sounds at this quality gives 20 to 25 dB; overlapping copies may clip.
        if (expected.every((sample) => Math.abs(sample) < 0.99)) {
          expect(signalToNoiseDb(expected, heard)).toBeGreaterThan(17);
        }
        for (const sound of sounds) {
          const range = [sound.startSample, sound.startSample + sound.lengthSamples] as const;
          expect(lagSamples(expected.subarray(...range), heard.subarray(...range))).toBe(0);
        }
      }),
      { numRuns: 12, seed: 1 },
    );
  });

  it.each([23, 24, 25, 1000, 60_001])('of %i ms decodes to exactly that length', async (durationMs) => {
    const audio = await rendered([], durationMs, newStore());
    expect((await decodeMp3(audio.read(0, audio.byteLength))).length).toBe(durationMs * 24);
  });

  it('serves any range as the same bytes as the whole file', async () => {
    const audio = await rendered([speechAt(0, 1, 24_000), speechAt(150_000, 2, 30_000)], 20_000, newStore());
    const whole = audio.read(0, audio.byteLength);
    expect(Buffer.concat([...audio.chunks()]).equals(whole)).toBe(true);
    const behind = [...audio.chunks(whole.length - 10, whole.length + 50)];
    expect(Buffer.concat(behind).equals(whole.subarray(-10)), 'nothing behind the end').toBe(true);
    expect([...audio.chunks(whole.length)]).toEqual([]);
    fc.assert(
      fc.property(fc.nat({ max: whole.length + 50 }), fc.nat({ max: whole.length + 50 }), (start, end) => {
        expect(audio.read(start, end).equals(whole.subarray(start, Math.max(start, end)))).toBe(true);
      }),
      { numRuns: 500 },
    );
  });

  it('is made of whole legal frames, whose number and bytes the seek header states', async () => {
    const audio = await rendered([speechAt(50_000, 1, 24_000)], 30_000, newStore());
    const file = audio.read(0, audio.byteLength);
    const { starts, fault } = walkFrames(file);
    expect(fault).toBeUndefined();
    // Offsets from the public descriptions of the tag: fields start at byte 13 in MPEG-2 with one channel.
    expect(file.toString('latin1', 13, 17)).toBe('Xing');
    expect(file.readUInt32BE(21)).toBe(starts.length - 2);
    expect(file.readUInt32BE(25)).toBe(file.length);
    const delays = file.readUIntBE(13 + 120 + 21, 3);
    const total = (starts.length - 2) * frameSamples;
    expect(total - (delays >> 12) - (delays & 0xfff)).toBe(30_000 * 24);
    expect(delays >> 12).toBe(codecDelaySamples - 529);
    for (const percent of [0, 1, 25, 50, 99]) {
      const tocByte = ((file[29 + percent] ?? 0) / 256) * file.length;
      const frameByte = starts[1 + Math.floor((percent * (starts.length - 2)) / 100)] ?? 0;
      expect(frameByte - tocByte).toBeGreaterThanOrEqual(0);
      expect(frameByte - tocByte).toBeLessThanOrEqual(file.length / 256);
    }
  });

  it('carries checksums that a plain bit-by-bit reading of the bytes confirms', async () => {
    const audio = await rendered([speechAt(0, 1, 24_000), speechAt(300_000, 2, 9000)], 13_000, newStore());
    const file = audio.read(0, audio.byteLength);
    // CRC-16/ARC: check value of "123456789" is 0xBB3D (catalogue of parametrised CRC algorithms, from memory).
    expect(bitwiseCrc16(Buffer.from('123456789'))).toBe(0xbb3d);
    expect(file.readUInt16BE(167)).toBe(bitwiseCrc16(file.subarray(0, 167)));
    expect(file.readUInt16BE(165)).toBe(bitwiseCrc16(file.subarray(192)));
  });
});

function bitwiseCrc16(bytes: Uint8Array): number {
  let crc = 0;
  for (const byte of bytes) {
    for (let bit = 0; bit < 8; bit += 1) {
      const feedback = (crc ^ (byte >> bit)) & 1;
      crc = (crc >> 1) ^ (feedback * 0xa001);
    }
  }
  return crc;
}

describe('kept segments', () => {
  const sounds: readonly PlacedSound[] = [0, 60_000, 120_001, 180_003].map((startSample, index) =>
    speechAt(startSample, index, 12_000),
  );
  const fileOf = async (store: SegmentStore, list = sounds) => {
    const audio = await rendered(list, 10_000, store);
    return audio.read(0, audio.byteLength);
  };

  it('give the same bytes cold, warm and partly warm', async () => {
    const folder = audioFolder();
    const cold = await fileOf(newStore(folder));
    const warmStore = newStore(folder);
    expect((await fileOf(warmStore)).equals(cold)).toBe(true);
    expect(warmStore.encodedCount).toBe(0);
    const partly = newStore();
    await fileOf(partly, [...sounds].reverse().slice(2));
    expect((await fileOf(partly)).equals(cold)).toBe(true);
    expect(partly.encodedCount).toBe(4);
  });

  it('are fetched neither when they are kept nor twice when they repeat', async () => {
    let fetched = 0;
    const counting = speechAt(24_000, 1, 12_000);
    const repeated = [1, 2, 3].map((second) => ({
      ...counting,
      startSample: second * 72_000,
      samples: () => {
        fetched += 1;
        return counting.samples();
      },
    }));
    const store = newStore();
    await fileOf(
      store,
      repeated.map((sound) => ({ ...sound })),
    );
    await fileOf(store, repeated);
    expect(fetched).toBe(1);
  });

  it('are made again when damaged', async () => {
    const folder = audioFolder();
    const cold = await fileOf(newStore(folder));
    for (const path of filesUnder(folder).slice(0, 2)) truncateSync(path, statSync(path).size - 5);
    const store = newStore(folder);
    expect((await fileOf(store)).equals(cold)).toBe(true);
    expect(store.encodedCount).toBe(2);
  });

  it.skipIf(process.platform === 'win32')('are not kept at all when ffmpeg dies half-way', async () => {
    const folder = audioFolder();
    vi.stubEnv('STILLCOUNT_FFMPEG', await fakeFfmpeg('"$REAL" "$@" 2>/dev/null | head -c 6000; kill -9 $$'));
    try {
      await expect(fileOf(newStore(folder))).rejects.toMatchObject({ kind: 'work' });
    } finally {
      vi.unstubAllEnvs();
    }
    expect(filesUnder(folder)).toEqual([]);
    expect((await fileOf(newStore(folder))).length).toBeGreaterThan(1000);
  });

  it('refuse sounds outside the session', async () => {
    await expect(fileOf(newStore(), [speechAt(235_000, 1, 5001)])).rejects.toThrow('outside the session');
  });
});
