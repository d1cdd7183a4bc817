import type { Say } from '../layout.js';
import { frameMs, minGapMs } from '../rules.js';
import { ceilTo, longest, placeOf, type Timeline } from './timeline.js';

/** Puts something said in the flow of talk after everything before it. */
export function placeSay(timeline: Timeline, say: Say): void {
  const text = longest(say.words);
  const startMs = ceilTo(frameMs, timeline.cursorMs + Math.max(minGapMs, say.gapBeforeMs));
  const endMs = startMs + timeline.measure(text).durationMs;
  timeline.cues.push({
    ...placeOf(timeline, say.where),
    kind: 'speech',
    role: say.role,
    text,
    startMs,
    endMs,
    beatMs: null,
    resumeHere: say.resumeHere,
  });
  timeline.cursorMs = endMs + say.silenceAfterMs;
}
