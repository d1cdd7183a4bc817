import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Beat, Filler, Train } from '../../src/script/layout.js';
import { fillSilences } from '../../src/script/place/fillSilences.js';
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
