import type { Filler, Train } from '../layout.js';
import { frameMs, minGapMs } from '../rules.js';
import { ceilTo, placeOf, type Timeline } from './timeline.js';

/**
 * Places time marks, then reminders, in the free time of a train, near the time each asks for. One that does not fit is
 * left out, because neither is part of the dose.
 *
 * @param ownCuesFrom index of the train's first beat in the timeline's cues
 */
export function placeFillers(
  timeline: Timeline,
  train: Train,
  firstBeatMs: number,
  ownCuesFrom: number,
): void {
  const marksFirst = [...train.fillers].sort((a, b) => rank(a) - rank(b) || a.atMs - b.atMs);
  for (const filler of marksFirst) {
    const taken = timeline.cues.slice(ownCuesFrom);
    const lastMs = Math.max(...taken.map(({ startMs }) => startMs)) - minGapMs;
    const fitted = findRoom(timeline, filler, firstBeatMs, { taken, lastMs });
    if (fitted === null) continue;
    timeline.cues.push({
      ...placeOf(timeline, filler.where),
      kind: 'speech',
      role: filler.role,
      ...fitted,
      beatMs: null,
      resumeHere: filler.resumeHere,
    });
  }
}

function rank(filler: Filler): number {
  return filler.role === 'time-mark' ? 0 : 1;
}

function findRoom(
  timeline: Timeline,
  filler: Filler,
  firstBeatMs: number,
  room: { taken: readonly { startMs: number; endMs: number }[]; lastMs: number },
): { text: string; startMs: number; endMs: number } | null {
  const wantedMs = firstBeatMs + filler.atMs;
  for (const text of filler.words) {
    const { durationMs } = timeline.measure(text);
    let startMs = ceilTo(frameMs, wantedMs);
    let blocker = blocking(room.taken, startMs, startMs + durationMs);
    while (blocker !== undefined) {
      startMs = ceilTo(frameMs, blocker.endMs + minGapMs);
      blocker = blocking(room.taken, startMs, startMs + durationMs);
    }
    if (startMs <= wantedMs + filler.slackMs && startMs + durationMs <= room.lastMs) {
      return { text, startMs, endMs: startMs + durationMs };
    }
  }
  return null;
}

function blocking<Span extends { startMs: number; endMs: number }>(
  taken: readonly Span[],
  startMs: number,
  endMs: number,
): Span | undefined {
  return taken.find((cue) => cue.startMs < endMs + minGapMs && cue.endMs + minGapMs > startMs);
}
