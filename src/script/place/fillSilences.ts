import { frameMs } from '../rules.js';
import { floorTo, type PlacedCue } from './timeline.js';

/**
 * Rule S8: no silence is longer than the presence interval, so that silence is never mistaken for a fault. Spaces soft
 * presence sounds evenly in every longer silence.
 *
 * @param rule.intervalMs longest silence allowed
 * @param rule.soundMs length of the presence sound
 * @returns all cues in order of their start
 */
export function fillSilences(
  cues: readonly PlacedCue[],
  durationMs: number,
  rule: { intervalMs: number; soundMs: number },
): PlacedCue[] {
  const inOrder = [...cues].sort((a, b) => a.startMs - b.startMs);
  const added: PlacedCue[] = [];
  let soundEndMs = 0;
  let before: PlacedCue | undefined;
  for (const cue of [...inOrder, null]) {
    const nextMs = cue?.startMs ?? durationMs;
    const owner = before ?? cue;
    if (owner !== null) added.push(...presenceSounds(owner, { fromMs: soundEndMs, toMs: nextMs }, rule));
    if (cue === null) break;
    // An unspoken breath phase is heard through its tone; its pauses are shorter than any presence interval.
    soundEndMs = Math.max(soundEndMs, cue.endMs, cue.tone?.endMs ?? 0);
    before = cue;
  }
  return [...inOrder, ...added].sort((a, b) => a.startMs - b.startMs);
}

/**
 * Returns the soft sounds that keep a silence under the interval, evenly spaced; they belong to the same part of the
 * session as `owner`.
 */
export function presenceSounds(
  owner: PlacedCue,
  silence: { fromMs: number; toMs: number },
  rule: { intervalMs: number; soundMs: number },
): PlacedCue[] {
  const lengthMs = silence.toMs - silence.fromMs;
  if (lengthMs <= rule.intervalMs) return [];
  // Leave one frame to spare, because starts are rounded down to whole frames.
  const count = Math.ceil(
    (lengthMs - rule.intervalMs + frameMs) / (rule.intervalMs - frameMs + rule.soundMs),
  );
  const stepMs = (lengthMs - count * rule.soundMs) / (count + 1);
  return Array.from({ length: count }, (_, index) => {
    const startMs = floorTo(frameMs, silence.fromMs + (index + 1) * stepMs + index * rule.soundMs);
    return presenceSound(owner, startMs, rule.soundMs);
  });
}

/** Returns a soft sound in the same part of the session as `owner`. */
export function presenceSound(owner: PlacedCue, startMs: number, soundMs: number): PlacedCue {
  const { chapter, exercise, set, rep, side } = owner;
  return {
    kind: 'presence',
    role: 'presence',
    startMs,
    endMs: startMs + soundMs,
    beatMs: null,
    chapter,
    ...(exercise === undefined ? {} : { exercise }),
    ...(set === undefined ? {} : { set }),
    ...(rep === undefined ? {} : { rep }),
    ...(side === undefined ? {} : { side }),
    resumeHere: false,
  };
}
