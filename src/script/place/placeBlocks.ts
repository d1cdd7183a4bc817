import type { PrescribedProgram } from '../../program/prescribed.js';
import type { Block } from '../layout.js';
import type { ClipMeasure } from '../measure.js';
import { presenceDurationMs } from '../presence.js';
import { frameMs, resumeLeadMs, tailSilenceMs } from '../rules.js';
import type { Chapter } from '../timedScript.js';
import { fillSilences } from './fillSilences.js';
import { placeSay } from './placeSay.js';
import { placeTrain } from './placeTrain.js';
import { type AdjustmentNote, ceilTo, type PlacedCue, type Timeline } from './timeline.js';

/** The layout with every cue placed in time. */
export type Placed = {
  cues: PlacedCue[];
  chapters: Chapter[];
  resumePointsMs: number[];
  durationMs: number;
  notes: AdjustmentNote[];
};

/**
 * Third pass: places every item on one timeline.
 *
 * @param measures the measured length of every wording in the layout
 * @throws StillcountError kind `input` when required words do not fit
 */
export function placeBlocks(
  program: PrescribedProgram,
  blocks: readonly Block[],
  measures: ReadonlyMap<string, ClipMeasure>,
): Placed {
  const timeline: Timeline = {
    cues: [],
    cursorMs: 0,
    workEndMs: null,
    explained: null,
    chapter: 0,
    notes: [],
    file: program.file,
    measure: (text) => {
      const measured = measures.get(text);
      if (measured === undefined)
        throw new RangeError('a wording was placed that the layout did not announce');
      return measured;
    },
  };
  const firstCueOfChapter = blocks.map((block, chapter) => {
    timeline.chapter = chapter;
    timeline.workEndMs = null;
    const from = timeline.cues.length;
    for (const item of block.items) {
      if (item.item === 'say') placeSay(timeline, item);
      else placeTrain(timeline, item);
    }
    return from;
  });
  const durationMs = ceilTo(frameMs, timeline.cursorMs + tailSilenceMs);
  const startsMs = firstCueOfChapter.map((from, index) =>
    index === 0 ? 0 : pointBefore(timeline.cues, timeline.cues[from]?.startMs ?? 0),
  );
  const cues = fillSilences(timeline.cues, durationMs, {
    intervalMs: Math.round(program.presenceEverySeconds * 1000),
    soundMs: presenceDurationMs,
  });
  return {
    cues,
    chapters: blocks.map((block, index) => ({
      title: block.title,
      startMs: startsMs[index] ?? 0,
      endMs: startsMs[index + 1] ?? durationMs,
      ...(block.exercise === undefined ? {} : { exercise: block.exercise }),
    })),
    resumePointsMs: resumePoints(cues, startsMs),
    durationMs,
    notes: timeline.notes,
  };
}

function resumePoints(cues: readonly PlacedCue[], chapterStartsMs: readonly number[]): number[] {
  const points = cues.filter(({ resumeHere }) => resumeHere).map(({ startMs }) => pointBefore(cues, startMs));
  return [...new Set([...chapterStartsMs, ...points])].sort((a, b) => a - b);
}

/**
 * Rule S9: listening resumes in silence just before a cue. Returns a point the usual lead before it, or halfway after
 * the previous sound where there is less room.
 */
function pointBefore(cues: readonly PlacedCue[], startMs: number): number {
  const soundBeforeMs = cues.reduce(
    (latest, cue) => (cue.startMs < startMs ? Math.max(latest, soundEndMs(cue)) : latest),
    0,
  );
  const silenceMs = Math.max(0, startMs - soundBeforeMs);
  return startMs - Math.min(resumeLeadMs, Math.floor(silenceMs / 2));
}

/** Returns when a cue's sound ends; an unspoken breath phase lasts as long as its tone. */
function soundEndMs(cue: PlacedCue): number {
  const spokenEndMs = cue.text === undefined && cue.kind === 'breath' ? cue.startMs : cue.endMs;
  return Math.max(spokenEndMs, cue.tone?.endMs ?? 0);
}
