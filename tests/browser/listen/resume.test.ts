import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  chapterAt,
  longPauseMs,
  nextChapterMs,
  planResume,
  previousChapterMs,
  safePointAt,
} from '../../../src/browser/listen/resume.js';

const ms = fc.integer({ min: 0, max: 3_600_000 });
const points = fc.uniqueArray(ms, { maxLength: 60 }).map((all) => all.sort((a, b) => a - b));
const chapters = points.map((all) =>
  [0, ...all.filter((at) => at > 0)].map((startMs) => ({ title: `at ${startMs}`, startMs })),
);

describe('going on after a pause', () => {
  it('never goes on in the middle of a repetition after a long pause, nor skips any of it', () => {
    const pauses = fc.oneof(fc.constant(null), fc.integer({ min: longPauseMs + 1, max: 1e9 }));
    fc.assert(
      fc.property(points, ms, pauses, (resumePointsMs, positionMs, pausedForMs) => {
        const { fromMs, say } = planResume(pausedForMs, { resumePointsMs, positionMs });
        expect([0, ...resumePointsMs]).toContain(fromMs);
        expect(fromMs).toBeLessThanOrEqual(positionMs);
        expect(resumePointsMs.filter((point) => point > fromMs && point <= positionMs)).toEqual([]);
        expect(say, 'it is said aloud').not.toBeNull();
      }),
    );
  });

  it('goes on where it stopped, without a word, after a short pause', () => {
    fc.assert(
      fc.property(
        points,
        ms,
        fc.integer({ min: 0, max: longPauseMs }),
        (resumePointsMs, positionMs, pausedForMs) => {
          const goOn = planResume(pausedForMs, { resumePointsMs, positionMs });
          expect(goOn).toEqual({ fromMs: positionMs, say: null });
        },
      ),
    );
  });

  // Ours, no published source.
  it('begins the repetition again from five seconds on, and not a millisecond before', () => {
    const at = (pausedForMs: number) =>
      planResume(pausedForMs, { resumePointsMs: [0, 20_000], positionMs: 33_000 }).fromMs;
    expect([at(5_000), at(5_001)]).toEqual([33_000, 20_000]);
    expect(safePointAt([0, 20_000], 20_000), 'a safe place itself').toBe(20_000);
    expect(safePointAt([0, 20_000], 19_999)).toBe(0);
  });

  it('says that a repetition begins again only when it does', () => {
    const resumePointsMs = [0, 20_000, 40_000];
    expect(planResume(60_000, { resumePointsMs, positionMs: 33_000 })).toEqual({
      fromMs: 20_000,
      say: 'go-on-before',
    });
    expect(planResume(60_000, { resumePointsMs, positionMs: 40_200 })).toEqual({
      fromMs: 40_000,
      say: 'go-on-exercise',
    });
    expect(planResume(null, { resumePointsMs: [], positionMs: 9_000 })).toEqual({
      fromMs: 0,
      say: 'go-on-before',
    });
  });

  it('goes to a place where listening can go on, wherever a lock screen points', () => {
    fc.assert(
      fc.property(points, ms, (resumePointsMs, toMs) => {
        expect([0, ...resumePointsMs]).toContain(safePointAt(resumePointsMs, toMs));
      }),
    );
  });
});

describe('moving by exercise', () => {
  it('goes forward one at a time, ends at the last, and finds its way back', () => {
    fc.assert(
      fc.property(chapters, ms, (all, positionMs) => {
        const index = chapterAt(all, positionMs);
        const nextMs = nextChapterMs(all, positionMs);
        expect(nextMs).toBe(all[index + 1]?.startMs ?? null);
        if (nextMs !== null) expect(previousChapterMs(all, nextMs)).toBe(all[index]?.startMs);
      }),
    );
  });

  it('begins an exercise again before it goes back to the one before', () => {
    const all = [0, 30_000, 60_000].map((startMs) => ({ title: '', startMs }));
    expect(previousChapterMs(all, 45_000)).toBe(30_000);
    expect(previousChapterMs(all, 31_000)).toBe(0);
    expect(previousChapterMs(all, 500)).toBe(0);
  });
});
