import type { Cue, Side, TimedScript } from './timedScript.js';

/** What the listener is asked to do in one chapter, computed from the cues alone. */
export type HeardDose = {
  exercise: string;
  title: string;
  /** Every piece of work in order: a hold, a slow repetition, a breath, or one sustained stretch of time. */
  work: readonly HeardWork[];
  /** Time under tension: the seconds of holds and slow repetitions. Breaths and rests do not count. */
  underTensionSeconds: number;
};

type HeardWork = {
  set: number;
  rep: number;
  side: Side | null;
  kind: 'hold' | 'tempo' | 'breath' | 'sustained';
  /** Time of the first beat. */
  startMs: number;
  /** Time of the release, of the end of the last breath phase, or of the end of the stretch. */
  endMs: number;
};

/**
 * Rule S1: the dose heard is the dose prescribed. Reads the dose back from a finished script, using only roles and
 * beats and never the program, so that it is an independent check. Returns one entry per exercise chapter.
 */
export function dosesHeard(script: TimedScript): HeardDose[] {
  return script.chapters.flatMap((chapter, index): HeardDose[] => {
    if (chapter.exercise === undefined) return [];
    const cues = script.cues.filter((cue) => cue.chapter === index && cue.beatMs !== null);
    const work = repetitionsOf(cues).flatMap((each) => workOf(each) ?? []);
    const tense = work.filter(({ kind }) => kind === 'hold' || kind === 'tempo');
    const underTensionMs = tense.reduce((sum, { startMs, endMs }) => sum + endMs - startMs, 0);
    return [
      { exercise: chapter.exercise, title: chapter.title, work, underTensionSeconds: underTensionMs / 1000 },
    ];
  });
}

/** Returns the seconds under tension of a whole session. */
export function secondsUnderTension(script: TimedScript): number {
  return dosesHeard(script).reduce((sum, dose) => sum + dose.underTensionSeconds, 0);
}

/** Groups adjacent cues of the same set, repetition and side. */
function repetitionsOf(cues: readonly Cue[]): Cue[][] {
  const groups: Cue[][] = [];
  for (const cue of cues) {
    const group = groups.at(-1);
    const before = group?.[0];
    if (
      group !== undefined &&
      before?.set === cue.set &&
      before?.rep === cue.rep &&
      before?.side === cue.side
    ) {
      group.push(cue);
    } else groups.push([cue]);
  }
  return groups;
}

function workOf(cues: readonly Cue[]): HeardWork | null {
  const [first] = cues;
  if (first === undefined || first.beatMs === null || first.set === undefined || first.rep === undefined)
    return null;
  const kind = kindOf(cues);
  const last = cues.at(-1);
  const endMs = kind === 'breath' ? Math.max(...cues.map(({ phase }) => phase?.endMs ?? 0)) : last?.beatMs;
  if (endMs === undefined || endMs === null) return null;
  return { set: first.set, rep: first.rep, side: first.side ?? null, kind, startMs: first.beatMs, endMs };
}

function kindOf(cues: readonly Cue[]): HeardWork['kind'] {
  if (cues.some(({ kind }) => kind === 'breath')) return 'breath';
  if (cues.some(({ role }) => role === 'lower')) return 'tempo';
  return cues.some(({ role }) => role === 'begin') ? 'sustained' : 'hold';
}
