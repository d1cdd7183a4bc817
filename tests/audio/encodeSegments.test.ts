import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { encodeSegments } from '../../src/audio/encodeSegments.js';
import { planSegments, type Segment } from '../../src/audio/planSegments.js';
import { noise, placed, speechAt, speechLike } from './testSounds.js';

/** One segment around one sound that starts anywhere in a frame. */
function segmentOf(sound: Parameters<typeof planSegments>[0][number]): Segment {
  const [segment] = planSegments([sound], 60_000).segments;
  if (segment === undefined) throw new Error('no segment');
  return segment;
}

const click = new Float32Array(100);
click[50] = 0.9;
const hiss = noise(7);
const kinds: readonly Segment[] = [
  segmentOf(speechAt(10_000, 1, 9000)),
  segmentOf(speechAt(10_123, 2, 60_000)),
  segmentOf(speechAt(10_300, 3, 200_000)),
  segmentOf(placed(9_999, 'click', click)),
  segmentOf(
    placed(
      7_777,
      'full hiss',
      Float32Array.from({ length: 20_000 }, () => hiss()),
    ),
  ),
  segmentOf(placed(8_888, 'faint', speechLike(5, 12_000, 0.004))),
];

describe('encoding segments', () => {
  it('gives the same bytes in any order and beside any neighbors (invariant S10)', async () => {
    const alone = await Promise.all(kinds.map(async (segment) => (await encodeSegments([segment]))[0]));
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.nat({ max: kinds.length - 1 }), { minLength: 4, maxLength: 14 }),
        async (order) => {
          const made = await encodeSegments(order.flatMap((index) => kinds[index] ?? []));
          order.forEach((index, place) => {
            expect(made[place]?.equals(alone[index] ?? Buffer.alloc(0))).toBe(true);
          });
        },
      ),
      { numRuns: 8, seed: 20_251_125 },
    );
  });

  it('needs the rest between them (control: with 8 frames of rest the bytes change)', async () => {
    const order = [4, 0, 4, 1, 4, 5].flatMap((index) => kinds[index] ?? []);
    const rested = await encodeSegments(order);
    const hurried = await encodeSegments(order, { rest: 8 });
    expect(hurried.some((frames, index) => !frames.equals(rested[index] ?? Buffer.alloc(0)))).toBe(true);
  });

  it('says so when a sound is shorter than it was planned', async () => {
    const sound = { ...speechAt(10_000, 1, 9000), samples: async () => new Float32Array(8999) };
    await expect(encodeSegments([segmentOf(sound)])).rejects.toThrow('not as long');
  });
});
