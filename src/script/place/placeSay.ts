import type { OwnTime, Say } from '../layout.js';
import { presenceDurationMs } from '../presence.js';
import { accompaniedFromMs, frameMs, longestOwnTimeSilenceMs, minGapMs } from '../rules.js';
import { presenceSound, presenceSounds } from './fillSilences.js';
import {
  ceilTo,
  type Form,
  floorTo,
  longest,
  type PlacedCue,
  placeOf,
  shortest,
  type Timeline,
} from './timeline.js';

/**
 * Places a line of talk after everything before it, followed by its silence or the person's own time.
 *
 * @param form chooses which of its wordings is spoken
 */
export function placeSay(timeline: Timeline, say: Say, form: Form = longest): void {
  const text = form(say.words);
  const startMs = ceilTo(frameMs, timeline.cursorMs + Math.max(minGapMs, say.gapBeforeMs));
  const endMs = startMs + timeline.measure(text).durationMs;
  const cue: PlacedCue = {
    ...placeOf(timeline, say.where),
    kind: 'speech',
    role: say.role,
    text,
    startMs,
    endMs,
    beatMs: null,
    resumeHere: say.resumeHere,
  };
  timeline.cues.push(cue);
  if (say.ownTime !== null) timeline.cues.push(...company(timeline, cue, say.ownTime));
  timeline.cursorMs = endMs + (say.ownTime?.ms ?? say.silenceAfterMs);
  timeline.explained = say.role === 'explanation' ? { endMs, spareMs: say.silenceAfterMs } : null;
}

/** Returns the longest that a line of talk can take, including the gap before it and the time after it. */
export function sayLengthMs(timeline: Timeline, say: Say, form: Form = longest): number {
  const wordsMs = timeline.measure(form(say.words)).durationMs;
  return Math.max(minGapMs, say.gapBeforeMs) + frameMs + wordsMs + (say.ownTime?.ms ?? say.silenceAfterMs);
}

/**
 * Returns the cues that reassure the listener during a long change of position: a voice in the middle of it, and soft
 * sounds.
 */
function company(timeline: Timeline, change: PlacedCue, ownTime: OwnTime): PlacedCue[] {
  const untilMs = change.endMs + ownTime.ms;
  if (ownTime.ms < accompaniedFromMs) return [];
  const voice = comfort(timeline, change, ownTime);
  const silences =
    voice === null
      ? [{ fromMs: change.endMs, toMs: untilMs }]
      : [
          { fromMs: change.endMs, toMs: voice.startMs },
          { fromMs: voice.endMs, toMs: untilMs },
        ];
  const sounds = silences.flatMap((silence) =>
    presenceSounds(change, silence, { intervalMs: longestOwnTimeSilenceMs, soundMs: presenceDurationMs }),
  );
  // Rule S11 promises a soft sound in every long wait. Where both halves are too short to need one, put it in the
  // middle of the second.
  const [last] = silences.toReversed();
  if (sounds.length === 0 && last !== undefined) sounds.push(...soundInMiddle(change, last));
  return voice === null ? sounds : [voice, ...sounds];
}

function soundInMiddle(owner: PlacedCue, silence: { fromMs: number; toMs: number }): PlacedCue[] {
  const spareMs = silence.toMs - silence.fromMs - presenceDurationMs;
  if (spareMs < 2 * (minGapMs + frameMs)) return [];
  return [presenceSound(owner, floorTo(frameMs, silence.fromMs + spareMs / 2), presenceDurationMs)];
}

function comfort(timeline: Timeline, change: PlacedCue, ownTime: OwnTime): PlacedCue | null {
  if (ownTime.comfort === null) return null;
  const text = shortest(ownTime.comfort);
  const { durationMs } = timeline.measure(text);
  const startMs = floorTo(frameMs, change.endMs + (ownTime.ms - durationMs) / 2);
  if (startMs - change.endMs < minGapMs) return null;
  return { ...change, text, startMs, endMs: startMs + durationMs, resumeHere: false };
}
