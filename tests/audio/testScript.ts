import type { SpokenClip } from '../../src/audio/soundsOf.js';
import { presenceDurationMs } from '../../src/script/presence.js';
import { countToneMs } from '../../src/script/rules.js';
import type { Cue, TimedScript } from '../../src/script/timedScript.js';
import { integratedLoudness } from '../../src/signal/loudness.js';
import { perceptualCentreSample } from '../../src/signal/perceptualCentre.js';
import { sampleRateHz, samplesPerMs } from '../../src/signal/sampleRate.js';
import { speechLike } from './testSounds.js';

/** A clip that stands for a spoken wording: whole milliseconds long, levelled, its beat measured. */
export type TestClip = SpokenClip & { durationMs: number; beatOffsetMs: number };

const clips = new Map<string, TestClip>();

function testClip(text: string): TestClip {
  const known = clips.get(text);
  if (known !== undefined) return known;
  const seed = [...text].reduce((sum, letter) => (sum * 31 + letter.charCodeAt(0)) % 9973, 7);
  const durationMs = 260 + 45 * text.length;
  const raw = speechLike(seed, (durationMs - 1) * samplesPerMs, 0.3);
  // Measured with silence around it, as it will stand in the session.
  const amidSilence = new Float32Array(raw.length + sampleRateHz);
  amidSilence.set(raw, sampleRateHz / 2);
  const gain = 10 ** ((-16 - integratedLoudness(amidSilence, sampleRateHz)) / 20);
  const centre = Math.round(perceptualCentreSample(raw, sampleRateHz));
  const shift = (samplesPerMs - (centre % samplesPerMs)) % samplesPerMs;
  const samples = new Float32Array(durationMs * samplesPerMs);
  raw.forEach((sample, i) => {
    samples[i + shift] = sample * gain;
  });
  const clip = {
    key: `test clip ${text}`,
    lengthSamples: samples.length,
    samples: async () => samples,
    durationMs,
    beatOffsetMs: (centre + shift) / samplesPerMs,
  };
  clips.set(text, clip);
  return clip;
}

/** Clips for every wording of a script. */
export function testClips(script: TimedScript): ReadonlyMap<string, TestClip> {
  return new Map(
    script.cues.flatMap(({ text }) => (text === undefined ? [] : [[text, testClip(text)] as const])),
  );
}

type CueFacts = Partial<Omit<Cue, 'startMs' | 'endMs' | 'beatMs' | 'text'>> & Pick<Cue, 'role' | 'chapter'>;

function spoken(text: string, beatMs: number, facts: CueFacts): Cue {
  const clip = testClip(text);
  const startMs = beatMs - clip.beatOffsetMs;
  return { kind: 'speech', text, startMs, endMs: startMs + clip.durationMs, beatMs, ...facts };
}

const counts = ['one', 'two', 'three', 'four', 'five'];

/** A short session with everything in it: talk, counted holds on both sides, breath phases, a long silence. */
export function testScript(): TimedScript {
  const cues: Cue[] = [
    spoken('Hello, and welcome. Lie on your back & rest <quietly>.', 1000, {
      role: 'instruction',
      chapter: 0,
    }),
    ...(['left', 'right'] as const).flatMap((side, index) => {
      const pressMs = 8000 + index * 10_000;
      const facts = { chapter: 1, exercise: 'head-press', set: 1, rep: index + 1, side };
      return [
        spoken('And press', pressMs, { role: 'start', ...facts }),
        ...counts
          .slice(0, 4)
          .map((text, i) =>
            spoken(text, pressMs + 1000 * (i + 1), { kind: 'count', role: 'count', ...facts }),
          ),
        spoken('and let go', pressMs + 5000, { role: 'release', ...facts }),
      ];
    }),
    ...[0, 1].flatMap((breath) => {
      const inMs = 30_000 + breath * 8000;
      const outMs = inMs + 4000;
      const facts = { kind: 'breath', chapter: 2, exercise: 'breathing' } as const;
      const phase = (startMs: number) => ({ phase: { startMs, endMs: startMs + 4000 } });
      const out: Cue = {
        ...facts,
        ...phase(outMs),
        role: 'out',
        startMs: outMs,
        endMs: outMs + 4000,
        beatMs: outMs,
        tone: { direction: 'out', startMs: outMs, endMs: outMs + 3840 },
      };
      const tone = { direction: 'in', startMs: inMs, endMs: inMs + 3840 } as const;
      return [spoken('breathe in', inMs, { ...facts, ...phase(inMs), role: 'in', tone }), out];
    }),
    {
      kind: 'presence',
      role: 'presence',
      startMs: 58_000,
      endMs: 58_000 + presenceDurationMs,
      beatMs: null,
      chapter: 3,
    },
    spoken('Well done. Roll onto your side when you are ready.', 72_000, { role: 'finish', chapter: 3 }),
  ];
  return {
    format: 'stillcount-script/1',
    title: 'Test session — über & <more>',
    language: 'en',
    voice: 'test',
    wordsPerMinute: 135,
    sessionNumber: 1,
    seed: 1,
    presenceIntervalMs: 15_000,
    durationMs: 76_543,
    chapters: [
      { title: 'Welcome', startMs: 0, endMs: 7000 },
      { title: 'Head press', startMs: 7000, endMs: 29_000, exercise: 'head-press' },
      { title: 'Breathing — tief', startMs: 29_000, endMs: 47_000, exercise: 'breathing' },
      { title: 'Closing', startMs: 47_000, endMs: 76_543 },
    ],
    cues,
    resumePointsMs: [0, 7000, 29_000, 47_000],
    adjustments: [],
  };
}

/** The same session with a tone in place of each spoken count. */
export function tonedScript(): TimedScript {
  const script = testScript();
  return {
    ...script,
    cues: script.cues.map((cue): Cue => {
      if (cue.kind !== 'count' || cue.text === undefined || cue.beatMs === null) return cue;
      const { text, ...rest } = cue;
      const span = { startMs: cue.beatMs, endMs: cue.beatMs + countToneMs };
      return { ...rest, ...span, shown: text, tone: { direction: 'level', ...span } };
    }),
  };
}
