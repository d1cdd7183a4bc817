import { workError } from '../errors/stillcountError.js';
import type { Cue, TimedScript } from '../script/timedScript.js';
import { samplesPerMs } from '../signal/sampleRate.js';
import { countTone, countToneKey } from './countTone.js';
import { presenceKey, presenceLengthSamples, presenceSound } from './presence.js';
import type { PlacedSound } from './sound.js';
import { breathTone, toneKey } from './tone.js';

/**
 * The parts of a spoken clip that this room needs. It has {@link samplesPerMs} samples per millisecond and is a whole
 * number of milliseconds long.
 */
export type SpokenClip = {
  /** Identifies the samples: equal keys always mean the same samples. */
  key: string;
  lengthSamples: number;
  samples: () => Promise<Float32Array>;
};

/**
 * Returns every sound of a session at its position: spoken words, breath tones, counted tones, presence sounds.
 *
 * @param clips the clips by wording, exactly as in the script
 * @throws StillcountError kind `work` when a wording has no clip, or the clip's length differs from the script's
 */
export function soundsOf(script: TimedScript, clips: ReadonlyMap<string, SpokenClip>): PlacedSound[] {
  return script.cues.flatMap((cue) => [...spoken(cue, clips), ...tone(cue), ...presence(cue)]);
}

function spoken(cue: Cue, clips: ReadonlyMap<string, SpokenClip>): PlacedSound[] {
  if (cue.text === undefined) return [];
  const clip = clips.get(cue.text);
  if (clip === undefined) {
    throw workError({ message: 'a wording of the script was never spoken by the voice', found: cue.text });
  }
  const expectedSamples = (cue.endMs - cue.startMs) * samplesPerMs;
  if (clip.lengthSamples !== expectedSamples) {
    throw workError({
      message: `the clip for “${cue.text}” is not as long as the script says`,
      found: `${clip.lengthSamples / samplesPerMs} ms`,
      allowed: `${expectedSamples / samplesPerMs} ms`,
      hint: 'make the script anew with the voice that is to speak it',
    });
  }
  return [
    {
      startSample: cue.startMs * samplesPerMs,
      lengthSamples: clip.lengthSamples,
      key: clip.key,
      samples: () => clip.samples(),
    },
  ];
}

function tone(cue: Cue): PlacedSound[] {
  if (cue.tone === undefined) return [];
  const { direction, startMs, endMs } = cue.tone;
  const lengthSamples = (endMs - startMs) * samplesPerMs;
  if (direction === 'level') {
    const samples = async () => countTone(lengthSamples);
    return [
      { startSample: startMs * samplesPerMs, lengthSamples, key: countToneKey(lengthSamples), samples },
    ];
  }
  return [
    {
      startSample: startMs * samplesPerMs,
      lengthSamples,
      key: toneKey(direction, lengthSamples),
      samples: async () => breathTone(direction, lengthSamples),
    },
  ];
}

function presence(cue: Cue): PlacedSound[] {
  if (cue.kind !== 'presence') return [];
  return [
    {
      startSample: cue.startMs * samplesPerMs,
      lengthSamples: presenceLengthSamples,
      key: presenceKey,
      samples: async () => presenceSound(),
    },
  ];
}
