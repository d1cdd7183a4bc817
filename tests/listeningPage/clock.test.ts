import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { correctedAtMs, longestAgeMs } from '../../src/listening/clock.js';

const hourMs = 3_600_000;
const yearMs = 365 * 24 * hourMs;
const receivedAtMs = Date.UTC(2026, 10, 25, 12);

describe('an instant of a device', () => {
  it.each([
    { name: 'right', wrongByMs: 0 },
    { name: 'three hours ahead', wrongByMs: 3 * hourMs },
    { name: 'eleven hours behind', wrongByMs: -11 * hourMs },
    { name: 'two years ahead', wrongByMs: 2 * yearMs },
    { name: 'at 1970, its battery having been out', wrongByMs: -receivedAtMs + 2 * hourMs },
  ])('is put right when its clock is $name', ({ wrongByMs }) => {
    const happenedAtMs = receivedAtMs - 90 * 60_000;
    expect(correctedAtMs(happenedAtMs + wrongByMs, receivedAtMs + wrongByMs, receivedAtMs)).toBe(
      happenedAtMs,
    );
  });

  it('keeps within what can be when the clock was set between the event and its sending', () => {
    expect(correctedAtMs(receivedAtMs + yearMs, receivedAtMs, receivedAtMs)).toBe(receivedAtMs);
    expect(correctedAtMs(0, receivedAtMs, receivedAtMs)).toBe(receivedAtMs - longestAgeMs);
  });

  it('is never later than its coming, and keeps its distance from others of the same report', () => {
    const instant = fc.integer({ min: 0, max: 8.64e15 });
    const age = fc.integer({ min: 0, max: longestAgeMs });
    fc.assert(
      fc.property(instant, instant, instant, (atMs, sentAtMs, comesAtMs) => {
        const found = correctedAtMs(atMs, sentAtMs, comesAtMs);
        expect(found).toBeLessThanOrEqual(comesAtMs);
        expect(found).toBeGreaterThanOrEqual(comesAtMs - longestAgeMs);
      }),
    );
    fc.assert(
      fc.property(fc.integer({ min: longestAgeMs, max: 8.64e15 }), age, age, (sentAtMs, one, other) => {
        const corrected = (ageMs: number) => correctedAtMs(sentAtMs - ageMs, sentAtMs, receivedAtMs);
        expect(corrected(one) - corrected(other)).toBe(other - one);
      }),
    );
  });
});
