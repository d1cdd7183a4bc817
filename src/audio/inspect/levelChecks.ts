import type { TimedScript } from '../../script/timedScript.js';
import { integratedLoudness, slidingLoudness } from '../../signal/loudness.js';
import { sampleRateHz, samplesPerMs } from '../../signal/sampleRate.js';
import { truePeakDbtp } from '../../signal/truePeak.js';
import { boundedRow, completeRow, type InspectionRow } from './inspection.js';
import { type Span, spokenSpans, without } from './spans.js';

/** Speech at this loudness or above counts as heard; it is made at about -16. */
const heardSpeechLufs = -30;
/** A soft sound at this loudness or above counts as heard; soft sounds are made at about -40. */
const heardSoftLufs = -55;
/** A counted tone with a peak at or above this counts as heard; these tones are made with a peak of about 0.04. */
const heardTonePeak = 0.01;
const momentaryMs = 400;
/** The codec smears speech slightly into its neighbors. */
const smearMs = 60;

/** Checks the loudness and true peak of the whole file (invariant A3). */
export function loudnessChecks(samples: Float32Array): InspectionRow[] {
  return [
    boundedRow('loudness', 'integrated loudness', integratedLoudness(samples, sampleRateHz), {
      least: -17,
      most: -15,
      unit: 'LUFS',
      decimals: 1,
    }),
    boundedRow('true-peak', 'true peak', truePeakDbtp(samples, sampleRateHz), {
      most: -1,
      unit: 'dBTP',
      decimals: 1,
    }),
  ];
}

/**
 * Checks that every cue is audible where the script puts it, and that soft sounds stay far below speech (invariant A4).
 */
export function cueLevelChecks(samples: Float32Array, script: TimedScript): InspectionRow[] {
  const spoken = spokenSpans(script);
  const audible = spoken.filter((span) => loudnessIn(samples, span) >= heardSpeechLufs);
  const rows = [
    completeRow('speech-heard', 'spoken cues heard at their time', audible.length, spoken.length),
  ];
  rows.push(...countToneChecks(samples, script, spoken));
  const soft = softSpans(script, spoken);
  if (soft.length === 0) return rows;
  const softLoudness = soft.map((span) => momentaryIn(samples, span));
  const softHeard = softLoudness.filter((lufs) => lufs >= heardSoftLufs);
  const speechLufs = integratedLoudness(joined(samples, spoken), sampleRateHz);
  return [
    ...rows,
    completeRow('soft-heard', 'soft sounds heard at their time', softHeard.length, soft.length),
    boundedRow('background', 'soft sounds under speech', speechLufs - Math.max(...softLoudness), {
      least: 20,
      unit: 'dB',
      decimals: 1,
    }),
  ];
}

/**
 * Checks the tones that replace counts by their peak, where no word overlaps them: they are too short for a loudness
 * measurement.
 */
function countToneChecks(
  samples: Float32Array,
  script: TimedScript,
  spoken: readonly Span[],
): InspectionRow[] {
  const spread = spoken.map(spreadOut);
  const tones = script.cues.flatMap(({ tone }) => (tone?.direction === 'level' ? [tone] : []));
  const alone = tones.filter((tone) => {
    const [left] = without(tone, spread);
    return left !== undefined && left.endMs - left.startMs === tone.endMs - tone.startMs;
  });
  if (alone.length === 0) return [];
  const audible = alone.filter((tone) =>
    cut(samples, tone).some((sample) => Math.abs(sample) >= heardTonePeak),
  );
  return [completeRow('counted-tones', 'tones for counts heard at their time', audible.length, alone.length)];
}

/** Returns where tones and presence sounds are heard alone for long enough to be measured. */
function softSpans(script: TimedScript, spoken: readonly Span[]): Span[] {
  const spread = spoken.map(spreadOut);
  const sounds = script.cues.flatMap((cue): Span[] => [
    ...(cue.tone === undefined ? [] : [cue.tone]),
    ...(cue.kind === 'presence' ? [cue] : []),
  ]);
  return sounds.flatMap((sound) => {
    const longest = without(middleHalf(sound), spread).sort(
      (a, b) => b.endMs - b.startMs - (a.endMs - a.startMs),
    )[0];
    return longest !== undefined && longest.endMs - longest.startMs >= momentaryMs ? [longest] : [];
  });
}

/** Widens a span of speech by what the codec smears. */
function spreadOut({ startMs, endMs }: Span): Span {
  return { startMs: startMs - smearMs, endMs: endMs + smearMs };
}

/**
 * Returns the middle half of a tone. A tone swells and fades, so its level is measured in the middle; a tail left after
 * long words does not count.
 */
function middleHalf({ startMs, endMs }: Span): Span {
  const quarterMs = (endMs - startMs) / 4;
  return { startMs: Math.round(startMs + quarterMs), endMs: Math.round(endMs - quarterMs) };
}

function loudnessIn(samples: Float32Array, span: Span): number {
  return integratedLoudness(cut(samples, span), sampleRateHz);
}

function momentaryIn(samples: Float32Array, span: Span): number {
  return Math.max(...slidingLoudness([cut(samples, span)], sampleRateHz, momentaryMs));
}

function cut(samples: Float32Array, span: Span): Float32Array {
  return samples.subarray(span.startMs * samplesPerMs, span.endMs * samplesPerMs);
}

function joined(samples: Float32Array, spans: readonly Span[]): Float32Array {
  const parts = spans.map((span) => cut(samples, span));
  const result = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    result.set(part, at);
    at += part.length;
  }
  return result;
}
