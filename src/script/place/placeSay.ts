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
 * Puts something said in the flow of talk after everything before it, with the time that it takes.
 *
 * @param form which of its wordings is said
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

/** The longest that something said in the flow of talk can take, with the gap before it and its time. */
export function sayLengthMs(timeline: Timeline, say: Say, form: Form = longest): number {
  const wordsMs = timeline.measure(form(say.words)).durationMs;
  return Math.max(minGapMs, say.gapBeforeMs) + frameMs + wordsMs + (say.ownTime?.ms ?? say.silenceAfterMs);
}

/** What says in a long change of position that all is well: a voice in its middle, and soft sounds. */
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
  // Between short halves none is needed; there is one all the same, in the middle of the second.
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
