import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { correctedAtMs, longestAgeMs, orderReports } from '../../src/listening/clock.js';

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

describe('what a device tells of one listening', () => {
  const at = (about: string, atMs: number) => ({ about, atMs });

  it('stays in the order in which it was told, however long each report was on its way', () => {
    const wait = fc.integer({ min: 1, max: 60_000 });
    const onTheWay = fc.integer({ min: 0, max: 14_000 });
    const reports = fc.array(fc.record({ waitMs: wait, onTheWayMs: onTheWay }), {
      minLength: 1,
      maxLength: 8,
    });
    fc.assert(
      fc.property(reports, (told) => {
        let happenedAtMs = receivedAtMs;
        let keptAtMs: number | null = null;
        for (const { waitMs, onTheWayMs } of told) {
          happenedAtMs += waitMs;
          const atMs = correctedAtMs(happenedAtMs, happenedAtMs, happenedAtMs + onTheWayMs);
          const newest = new Map(keptAtMs === null ? [] : [['walk', keptAtMs]]);
          const [momentMs = Number.NaN] = orderReports([at('walk', atMs)], newest);
          expect(momentMs).toBeGreaterThan(keptAtMs ?? 0);
          expect(Math.abs(momentMs - happenedAtMs), 'near to when it was').toBeLessThan(15_000);
          keptAtMs = momentMs;
        }
      }),
    );
  });

  it('at one moment comes one after the other, and moves nothing else', () => {
    const events = [at('a', 500), at('a', 500), at('b', 500), at('a', 502), at('a', 501)];
    expect(orderReports(events, new Map([['a', 499]]))).toEqual([500, 501, 500, 502, 503]);
  });

  it('stays where it is when it comes from long before, as from a phone that had no network', () => {
    const newest = new Map([['a', 100_000]]);
    expect(orderReports([at('a', 40_000), at('a', 41_000), at('a', 101_000)], newest)).toEqual([
      40_000, 41_000, 101_000,
    ]);
  });
});
