import type { Side, TimedScript } from './timedScript.js';

/** From a moment on, a session is about one side of the body. */
export type SideHeard = { startMs: number; side: Side };

/**
 * Which side a session is about, and from when on, within each chapter that has sides. What comes before its first side
 * leads up to that one.
 */
export function listSides({ chapters, cues }: Pick<TimedScript, 'chapters' | 'cues'>): SideHeard[] {
  return chapters.flatMap(({ startMs }, index) => {
    const sides: SideHeard[] = [];
    for (const { chapter, side, startMs: atMs } of cues) {
      if (chapter !== index || side === undefined || sides.at(-1)?.side === side) continue;
      sides.push({ startMs: sides.length === 0 ? startMs : atMs, side });
    }
    return sides;
  });
}
