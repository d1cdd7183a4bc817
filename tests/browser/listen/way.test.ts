import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { paceFrom, pathAt, shareAt } from '../../../src/browser/listen/way.js';

const seconds = (min: number) => fc.integer({ min, max: 20 });
const paces = fc.record({
  outSeconds: seconds(1),
  staySeconds: seconds(0),
  backSeconds: seconds(1),
  restSeconds: seconds(0),
});

describe('how far a moving figure has come', () => {
  it('is between its two ends, and never changes faster than its pace', () => {
    fc.assert(
      fc.property(paces, fc.integer({ min: 0, max: 600_000 }), seconds(1), (pace, atMs, stepSeconds) => {
        const stepMs = stepSeconds * 5;
        const [before, after] = [shareAt(pace, atMs), shareAt(pace, atMs + stepMs)];
        expect(before).toBeGreaterThanOrEqual(0);
        expect(before).toBeLessThanOrEqual(1);
        const fastest = stepMs / 1_000 / Math.min(pace.outSeconds, pace.backSeconds);
        expect(Math.abs(after - before)).toBeLessThanOrEqual(fastest + 1e-9);
      }),
    );
  });

  it('goes out, stays, comes back and rests', () => {
    const pace = { outSeconds: 3, staySeconds: 2, backSeconds: 4, restSeconds: 1 };
    const at = [0, 1.5, 3, 4.9, 5, 7, 9, 9.9, 10, 11.5].map((second) => shareAt(pace, second * 1_000));
    expect(at).toEqual([0, 0.5, 1, 1, 1, 0.5, 0, 0, 0, 0.5]);
  });

  it('is read from the page of figures, and from nothing else', () => {
    expect(paceFrom('3 0 2.5 1')).toEqual({
      outSeconds: 3,
      staySeconds: 0,
      backSeconds: 2.5,
      restSeconds: 1,
    });
    for (const text of [undefined, '', '3 0 3', '0 1 1 1', '3 0 0 1', '-1 0 3 1', 'a b c d', '1 1 1 1 1'])
      expect(paceFrom(text), text).toBeNull();
  });
});

describe('a path on its way', () => {
  it('goes evenly between steps with the same commands, whatever signs part its numbers', () => {
    const steps = ['M0 0l10-4A5 5 0 0 1 20 0Z', 'M10 0l10 4A5 5 0 0 1 40-20Z'];
    expect(pathAt(steps, 0)).toBe('M 0 0 l 10 -4 A 5 5 0 0 1 20 0 Z');
    expect(pathAt(steps, 0.5)).toBe('M 5 0 l 10 0 A 5 5 0 0 1 30 -10 Z');
    expect(pathAt(steps, 1)).toBe('M 10 0 l 10 4 A 5 5 0 0 1 40 -20 Z');
  });

  it('is the nearer step where the next has other commands', () => {
    const steps = ['M0 0L9 9', 'M0 0C1 1 2 2 3 3', 'M0 0L5 5'];
    expect([0.2, 0.3, 0.9].map((share) => pathAt(steps, share))).toEqual([steps[0], steps[1], steps[2]]);
  });
});
