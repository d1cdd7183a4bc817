import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { StillcountError } from '../../src/errors/stillcountError.js';
import type { Beat, Filler, Train } from '../../src/script/layout.js';
import { fillSilences } from '../../src/script/place/fillSilences.js';
import { placeBeats } from '../../src/script/place/placeBeats.js';
import { placeFillers } from '../../src/script/place/placeFillers.js';
import type { PlacedCue, Timeline } from '../../src/script/place/timeline.js';

/** A wording is its own length in milliseconds. */
const timelineOf = (cues: PlacedCue[]): Timeline => ({
  ...{ cues, cursorMs: 0, workEndMs: null, explained: null, chapter: 1, notes: [], file: 'test.yaml' },
  measure: (text) => ({ durationMs: Number(text), beatOffsetMs: 0 }),
});
const cueAt = (startMs: number, lengthMs: number): PlacedCue => ({
  ...{ kind: 'count', role: 'count', text: String(lengthMs), startMs, endMs: startMs + lengthMs },
  ...{ beatMs: startMs, chapter: 1, resumeHere: false },
});
const beat: Beat = {
  ...{ atMs: 0, alignBy: 'onset', kind: 'count', role: 'count', words: ['500'], where: {} },
  ...{ roomPath: 'exercises[0]', resumeHere: false },
};
const trainWith = (fillers: readonly Filler[]): Train => ({
  ...{ item: 'train', lead: [], beats: [beat], fillers, lengthMs: 0, restBeforeMs: 0, restWords: null },
  ...{ changes: [], position: [], where: {}, resumeHere: false },
});

/** Beats that keep their own distance, with all kinds of room between them. */
const beats = fc
  .array(
    fc.record({ gapMs: fc.integer({ min: 250, max: 3_000 }), lengthMs: fc.integer({ min: 100, max: 900 }) }),
    {
      minLength: 2,
      maxLength: 8,
    },
  )
  .map((list) => {
    let atMs = 0;
    return list.map(({ gapMs, lengthMs }) => {
      const cue = cueAt(atMs + gapMs, lengthMs);
      atMs = cue.endMs;
      return cue;
    });
  });
const fillers = fc.array(
  fc.record({
    atMs: fc.nat({ max: 16_000 }),
    slackMs: fc.constantFrom(0, 1_000, 8_000),
    role: fc.constantFrom('coaching', 'time-mark'),
    lengthMs: fc.integer({ min: 100, max: 1_500 }),
  }),
  { minLength: 1, maxLength: 6 },
);

/** What stands on the timeline in the end, in order. */
function placed(cues: readonly PlacedCue[], wanted: readonly Filler[]): PlacedCue[] {
  const timeline = timelineOf([...cues]);
  placeFillers(timeline, trainWith(wanted), cues[0]?.startMs ?? 0, 0);
  return timeline.cues.sort((a, b) => a.startMs - b.startMs);
}

describe('S4: reminders and time marks', () => {
  it('S4: stand 250 ms from everything that is said, and end as long before the last of it', () => {
    let tight = 0;
    fc.assert(
      fc.property(beats, fillers, (cues, wanted) => {
        const inOrder = placed(
          cues,
          wanted.map(({ lengthMs, ...rest }) => ({
            ...{ ...rest, words: [String(lengthMs), '120'], where: {}, resumeHere: false },
          })),
        );
        inOrder.slice(1).forEach((cue, index) => {
          const gapMs = cue.startMs - (inOrder[index]?.endMs ?? 0);
          expect(gapMs).toBeGreaterThanOrEqual(250);
          if (gapMs < 280) tight++;
        });
        expect(inOrder.at(-1), 'the release is the last that is said').toEqual(cues.at(-1));
      }),
      { numRuns: 400 },
    );
    // Otherwise there was room everywhere, and the smallest distance was never asked for.
    expect(tight).toBeGreaterThan(200);
  });

  it('S4: fill room that is just large enough, and none that is a millisecond smaller', () => {
    const filler: Filler = {
      ...{ atMs: 500, slackMs: 2_000, role: 'coaching', words: ['500'], where: {}, resumeHere: false },
    };
    // From 500 to 1512 ms: 250, the next whole frame, 500, and 250 once more.
    const room = (nextMs: number) =>
      placed([cueAt(0, 500), cueAt(nextMs, 500), cueAt(9_000, 500)], [{ ...filler, slackMs: 400 }]).length;
    expect(room(768 + 500 + 250)).toBe(4);
    expect(room(768 + 500 + 249)).toBe(3);
  });
});

describe('S8: soft sounds', () => {
  it('S8: leave no silence longer than their interval, before the first word, between two, or after the last', () => {
    const rule = fc.record({
      intervalMs: fc.integer({ min: 5_000, max: 60_000 }),
      soundMs: fc.constant(1_200),
    });
    const long = fc.array(fc.integer({ min: 250, max: 150_000 }), { minLength: 2, maxLength: 6 });
    fc.assert(
      fc.property(long, rule, (silences, { intervalMs, soundMs }) => {
        let atMs = 0;
        const cues = silences.slice(1).map((silenceMs) => {
          const cue = cueAt(atMs + silenceMs, 400);
          atMs = cue.endMs;
          return cue;
        });
        const durationMs = atMs + (silences[0] ?? 0);
        const ends = fillSilences(cues, durationMs, { intervalMs, soundMs });
        const edges = [0, ...ends.flatMap(({ startMs, endMs }) => [startMs, endMs]), durationMs];
        const longest = Math.max(
          ...edges.flatMap((edgeMs, index) => (index % 2 === 1 ? [edgeMs - (edges[index - 1] ?? 0)] : [])),
        );
        expect(longest).toBeLessThanOrEqual(intervalMs);
      }),
    );
  });
});

describe('S17: words on beats', () => {
  /** A wording is its length and where its beat lies in it, in milliseconds. */
  const measured = (cues: PlacedCue[], cursorMs: number): Timeline => ({
    ...timelineOf(cues),
    cursorMs,
    measure: (text) => {
      const [durationMs = 0, beatOffsetMs = 0] = text.split(' ').map(Number);
      return { durationMs, beatOffsetMs };
    },
  });
  const wording = fc
    .record({ lengthMs: fc.integer({ min: 100, max: 1_400 }), share: fc.integer({ min: 0, max: 4 }) })
    .map(({ lengthMs, share }) => `${lengthMs} ${Math.round((lengthMs * share) / 5)}`);
  const said = fc.record({
    distanceMs: fc.integer({ min: 400, max: 3_000 }),
    alignBy: fc.constantFrom('centre', 'onset'),
    words: fc.tuple(wording, wording),
    isPhase: fc.boolean(),
  });
  const trainOf = (beats: readonly Beat[]): Train => {
    const [first = beat, ...others] = beats;
    return { ...trainWith([]), beats: [first, ...others] };
  };
  /** The cues in their order; null where the words have no room. */
  function place(beats: readonly Beat[], cursorMs: number, firstBeatMs: number): PlacedCue[] | null {
    const timeline = measured([], cursorMs);
    try {
      placeBeats(timeline, trainOf(beats), firstBeatMs);
    } catch (error) {
      if (error instanceof StillcountError && error.kind === 'input') return null;
      throw error;
    }
    return timeline.cues;
  }

  it('S17: keep their distance and their phase, with the beat where each is heard, or are refused', () => {
    let [placedCount, refusedCount, tight] = [0, 0, 0];
    fc.assert(
      fc.property(fc.array(said, { minLength: 2, maxLength: 6 }), fc.nat({ max: 1_500 }), (list, freeMs) => {
        let atMs = 0;
        const beats = list.map(({ distanceMs, alignBy, words, isPhase }): Beat => {
          const own = { ...beat, atMs, alignBy, words, kind: 'speech' as const, role: 'release' as const };
          atMs += distanceMs;
          return isPhase ? { ...own, phaseMs: distanceMs } : own;
        });
        const firstBeatMs = 2_000;
        const cursorMs = firstBeatMs - freeMs;
        const cues = place(beats, cursorMs, firstBeatMs);
        if (cues === null) {
          refusedCount++;
          return;
        }
        placedCount++;
        let endMs = cursorMs;
        for (const [index, cue] of cues.entries()) {
          expect(cue.startMs - endMs).toBeGreaterThanOrEqual(250);
          if (index > 0 && cue.startMs - endMs < 350) tight++;
          endMs = cue.endMs;
          const { alignBy = 'onset', phaseMs } = beats[index] ?? beat;
          const [, offsetMs = 0] = (cue.text ?? '').split(' ').map(Number);
          expect((cue.beatMs ?? 0) - cue.startMs).toBe(alignBy === 'onset' ? 0 : offsetMs);
          if (phaseMs !== undefined) expect(cue.endMs).toBeLessThanOrEqual((cue.beatMs ?? 0) + phaseMs - 300);
        }
      }),
      { numRuns: 1_500 },
    );
    // Otherwise there was room for everything, or for nothing.
    expect(placedCount).toBeGreaterThan(150);
    expect(refusedCount).toBeGreaterThan(150);
    expect(tight).toBeGreaterThan(20);
  });

  it('S17: fit to the millisecond: 250 ms before and after, 300 ms before the end of a phase', () => {
    const one = (more: Partial<Beat>): Beat => ({
      ...{ ...beat, kind: 'speech', role: 'release', alignBy: 'onset', words: ['500 0'], ...more },
    });
    const next = (atMs: number) => one({ atMs, alignBy: 'centre', words: ['400 100'] });
    const fits = (beats: readonly Beat[], cursorMs = 0) => place(beats, cursorMs, 1_000) !== null;
    // The next word begins 100 ms before its beat.
    expect([fits([one({}), next(850)]), fits([one({}), next(849)])]).toEqual([true, false]);
    expect([fits([one({})], 750), fits([one({})], 751)]).toEqual([true, false]);
    expect([fits([one({ phaseMs: 800 })]), fits([one({ phaseMs: 799 })])]).toEqual([true, false]);
    // The longer form would end 150 ms before the next word begins, and 250 ms before its beat.
    const shorter = place([one({ words: ['750 0', '500 0'] }), next(1_000)], 0, 1_000);
    expect(shorter?.map(({ text }) => text)).toEqual(['500 0', '400 100']);
  });
});
