import type { TimedScript } from '../../script/timedScript.js';
import { perceptualCentreSample } from '../../signal/perceptualCentre.js';
import { sampleRateHz, samplesPerMs } from '../../signal/sampleRate.js';
import { boundedRow, equalRow, type InspectionRow } from './inspection.js';
import { soundingSpans, without } from './spans.js';

/** A peak above this is not silence: far below the softest sound, far above the codec's noise in silence. */
const silencePeak = 10 ** (-66 / 20);
/** The codec may smear a sound by a frame or two beyond its ends. */
const smearMs = 60;
/** The soft edges of a sound are below the threshold for sound. */
const softEdgeMs = 300;
/** Block size; fine enough for silences that last seconds. */
const blockMs = 20;

/**
 * Largest error allowed between a beat's measured and scripted time. The sound itself is where the script says, to the
 * sample, but coding noise changes the onset of a word slightly, and with it the measured perceptual center: by up to
 * 3.6 ms over the beats of all starter programs in both embedded voices. The smallest error that people hear at one
 * beat per second is 25 ms (Friberg & Sundberg 1995).
 */
const mostBeatMs = 5;
/**
 * Largest mean error allowed. Noise averages out over many beats; a sound in the wrong place does not (invariant A2).
 */
const mostMeanMs = 1;

/** Checks the beats as a listener hears them against the script. */
export function beatChecks(samples: Float32Array, script: TimedScript): InspectionRow[] {
  const errorsMs = script.cues.flatMap((cue) => {
    // Where the beat is an onset, the check that spoken cues are heard on time covers it.
    if (cue.text === undefined || cue.beatMs === null || cue.beatMs === cue.startMs) return [];
    const window = samples.subarray(cue.startMs * samplesPerMs, cue.endMs * samplesPerMs);
    const heardMs = cue.startMs + perceptualCentreSample(window, sampleRateHz) / samplesPerMs;
    return [Math.abs(heardMs - cue.beatMs)];
  });
  if (errorsMs.length === 0) return [];
  const mean = errorsMs.reduce((sum, error) => sum + error, 0) / errorsMs.length;
  return [
    boundedRow('beat-worst', `beat error, worst of ${errorsMs.length}`, Math.max(...errorsMs), {
      most: mostBeatMs,
      unit: 'ms',
      decimals: 3,
    }),
    boundedRow('beat-mean', 'beat error, mean', mean, { most: mostMeanMs, unit: 'ms', decimals: 3 }),
  ];
}

/**
 * Checks that nothing sounds where the script has silence, and that no silence is longer than the presence interval.
 */
export function silenceChecks(samples: Float32Array, script: TimedScript): InspectionRow[] {
  const spread = soundingSpans(script).map((span) => ({
    startMs: span.startMs - smearMs,
    endMs: span.endMs + smearMs,
  }));
  const silent = without({ startMs: 0, endMs: script.durationMs }, spread);
  const broken = silent.filter((span) => {
    const stretch = samples.subarray(span.startMs * samplesPerMs, span.endMs * samplesPerMs);
    return peakOf(stretch) > silencePeak;
  });
  return [
    equalRow('silence-kept', 'silences with a sound in them', String(broken.length), '0'),
    longestSilenceCheck(samples, script.presenceIntervalMs),
  ];
}

/**
 * Checks the longest silence in a file.
 *
 * @param presenceIntervalMs longest silence allowed between two sounds
 */
export function longestSilenceCheck(samples: Float32Array, presenceIntervalMs: number): InspectionRow {
  const blockSamples = blockMs * samplesPerMs;
  let run = 0;
  let longest = 0;
  for (let start = 0; start < samples.length; start += blockSamples) {
    run = peakOf(samples.subarray(start, start + blockSamples)) > silencePeak ? 0 : run + 1;
    longest = Math.max(longest, run);
  }
  return boundedRow('longest-silence', 'longest silence', (longest * blockMs) / 1000, {
    most: (presenceIntervalMs + softEdgeMs) / 1000,
    unit: 's',
    decimals: 2,
  });
}

function peakOf(samples: Float32Array): number {
  let peak = 0;
  for (const sample of samples) peak = Math.max(peak, Math.abs(sample));
  return peak;
}
