import { planSegments } from '../../src/audio/planSegments.js';
import type { SegmentStore } from '../../src/audio/segmentStore.js';
import { SessionAudio } from '../../src/audio/sessionAudio.js';
import type { PlacedSound } from '../../src/audio/sound.js';
import { sampleRateHz } from '../../src/signal/sampleRate.js';
import { temporaryFolder } from '../leftBehind.js';

/** Numbers from -1 to 1, always the same for a seed. */
export function noise(seed: number): () => number {
  let state = (seed * 2_654_435_761 + 12_345) >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 31 - 1;
  };
}

/** Something like speech: a gliding voice with overtones, syllables, and hiss between them. */
export function speechLike(seed: number, lengthSamples: number, peak = 0.5): Float32Array {
  const random = noise(seed);
  const pitchHz = 140 + 60 * random();
  const samples = new Float32Array(lengthSamples);
  let phase = 0;
  for (let i = 0; i < lengthSamples; i += 1) {
    const seconds = i / sampleRateHz;
    phase += (2 * Math.PI * pitchHz * (1 + 0.1 * Math.sin(3 * seconds + seed))) / sampleRateHz;
    let voice = 0;
    for (let overtone = 1; overtone <= 12; overtone += 1) voice += Math.sin(overtone * phase) / overtone;
    const syllable = Math.max(0, Math.sin(2 * Math.PI * 4 * seconds)) ** 1.5;
    const edge = Math.min(1, i / 240, (lengthSamples - 1 - i) / 240);
    samples[i] = peak * edge * Math.tanh(1.5 * syllable * voice + 0.08 * (1 - syllable) * random());
  }
  return samples;
}

export function placed(startSample: number, key: string, samples: Float32Array): PlacedSound {
  return { startSample, lengthSamples: samples.length, key, samples: async () => samples };
}

export function speechAt(startSample: number, seed: number, lengthSamples: number): PlacedSound {
  return placed(startSample, `speech ${seed} ${lengthSamples}`, speechLike(seed, lengthSamples));
}

/** All sounds added up, without any codec. */
export async function mixed(sounds: readonly PlacedSound[], lengthSamples: number): Promise<Float32Array> {
  const result = new Float32Array(lengthSamples);
  for (const sound of sounds) {
    const samples = await sound.samples();
    samples.forEach((sample, i) => {
      result[sound.startSample + i] = (result[sound.startSample + i] ?? 0) + sample;
    });
  }
  return result;
}

/** Signal over error in dB. */
export function signalToNoiseDb(expected: Float32Array, actual: Float32Array): number {
  let signal = 0;
  let error = 0;
  for (let i = 0; i < expected.length; i += 1) {
    signal += (expected[i] ?? 0) ** 2;
    error += ((expected[i] ?? 0) - (actual[i] ?? 0)) ** 2;
  }
  return 10 * Math.log10(signal / error);
}

export const audioFolder = (): string => temporaryFolder('audio');

/** A session of these sounds, without a tag. */
export async function rendered(
  sounds: readonly PlacedSound[],
  durationMs: number,
  store: SegmentStore,
): Promise<SessionAudio> {
  const plan = planSegments(sounds, durationMs);
  return new SessionAudio(plan, await store.ensure(plan.segments), new Uint8Array());
}
