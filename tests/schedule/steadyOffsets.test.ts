import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import { describe, expect, it } from 'vitest';
import {
  addDays,
  isoDayIn,
  isShownTwice,
  localTimeIn,
  timeOfDayIn,
  wallClockInstant,
  weekdayNumber,
} from '../../src/schedule/wallClock.js';
import { stretchesOf } from './offsets.js';

const dayMs = 86_400_000;
const zone = fc.constantFrom(
  ...['Europe/Vienna', 'America/New_York', 'Australia/Lord_Howe', 'Africa/Casablanca', 'Pacific/Apia'],
  ...['Asia/Kathmandu', 'America/Santiago', 'Pacific/Kiritimati', 'UTC'],
);
const changesOf = new Map<string, number[]>();
/** Moments near clock changes, which chance alone would seldom meet, and any others. */
const moment = fc
  .tuple(zone, fc.integer({ min: 0, max: 9 }), fc.integer({ min: -2 * dayMs, max: 2 * dayMs }))
  .map(([name, pick, aroundMs]) => {
    const changes =
      changesOf.get(name) ??
      stretchesOf(name, Date.UTC(2025, 0, 1), Date.UTC(2028, 0, 1)).map(({ startMs }) => startMs);
    changesOf.set(name, changes);
    const nearMs = changes[pick % changes.length] ?? 0;
    return { name, atMs: (pick > 6 ? Date.UTC(2026, pick, 10) : nearMs) + aroundMs };
  });

describe('plain arithmetic on days without a clock change', () => {
  it('shows the clocks that Temporal shows', () => {
    fc.assert(
      fc.property(moment, ({ name, atMs }) => {
        const shown = Temporal.Instant.fromEpochMilliseconds(atMs).toZonedDateTimeISO(name).toPlainDateTime();
        const local = shown.toString({ smallestUnit: 'minute' });
        expect(localTimeIn(atMs, name)).toBe(local);
        expect(isoDayIn(atMs, name)).toBe(local.slice(0, 10));
        expect(timeOfDayIn(atMs, name)).toBe(local.slice(11));
        const [earlier, later] = (['earlier', 'later'] as const).map((disambiguation) =>
          shown.toZonedDateTime(name, { disambiguation }),
        );
        expect(isShownTwice(atMs, name)).toBe(earlier?.epochMilliseconds !== later?.epochMilliseconds);
      }),
      { numRuns: 300 },
    );
  });

  it('counts days and weekdays as Temporal does', () => {
    const day = fc
      .integer({ min: -40_000, max: 40_000 })
      .map((days) => new Date(days * dayMs).toISOString().slice(0, 10));
    fc.assert(
      fc.property(day, fc.integer({ min: -800, max: 800 }), (from, days) => {
        const date = Temporal.PlainDate.from(from);
        expect(addDays(from, days)).toBe(date.add({ days }).toString());
        expect(weekdayNumber(from)).toBe(date.dayOfWeek);
      }),
      { numRuns: 200 },
    );
  });

  it('refuses what there is not, as Temporal does', () => {
    for (const day of ['2026-02-30', '2026-13-01', '2027-02-29', '26-01-01', 'today', ''])
      expect(() => addDays(day, 1), day).toThrow(RangeError);
    expect(() => wallClockInstant('2026-02-30', '09:00', 'UTC')).toThrow(RangeError);
    expect(() => wallClockInstant('2026-02-03', '24:30', 'UTC')).toThrow(RangeError);
    expect(() => wallClockInstant('2026-02-03', '09:00', 'Nowhere/Town')).toThrow(RangeError);
    expect(() => isoDayIn(0, 'Nowhere/Town')).toThrow(RangeError);
    expect(() => isoDayIn(0.5, 'UTC')).toThrow(RangeError);
    expect(() => isoDayIn(Number.NaN, 'UTC')).toThrow(RangeError);
  });
});
