import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { addDays, isoDayIn, mondayOf, startOfDayMs, wallClockInstant } from '../../src/schedule/wallClock.js';
import { firstInstantShowing, type Stretch, stretchesOf } from './offsets.js';

const dayMs = 86_400_000;
const fromMs = Date.UTC(2026, 0, 1);
const toMs = Date.UTC(2028, 0, 1);
const zones = Intl.supportedValuesOf('timeZone');

const isoDay = (localMs: number) => new Date(localMs).toISOString().slice(0, 10);
const isoTime = (localMs: number) => new Date(localMs).toISOString().slice(11, 16);

describe('a time of day', () => {
  // Instants as Python's zoneinfo gives them with the IANA data 2025b (fold 0, the first of two, as RFC 5545, 3.3.5).
  // In a gap RFC 5545 counts on from before it; ours is the moment of the change itself, by the same data.
  it.each([
    { zone: 'America/New_York', local: '2027-03-14 02:30', instant: '2027-03-14T07:00Z', why: 'gap' },
    { zone: 'America/New_York', local: '2027-03-13 08:00', instant: '2027-03-13T13:00Z', why: 'before' },
    { zone: 'America/New_York', local: '2027-03-14 08:00', instant: '2027-03-14T12:00Z', why: 'after' },
    { zone: 'America/New_York', local: '2026-11-01 01:30', instant: '2026-11-01T05:30Z', why: 'overlap' },
    { zone: 'America/New_York', local: '2026-10-31 08:00', instant: '2026-10-31T12:00Z', why: 'before' },
    { zone: 'America/New_York', local: '2026-11-01 08:00', instant: '2026-11-01T13:00Z', why: 'after' },
    { zone: 'Europe/Berlin', local: '2027-03-28 02:30', instant: '2027-03-28T01:00Z', why: 'gap' },
    { zone: 'Europe/Berlin', local: '2027-03-27 08:00', instant: '2027-03-27T07:00Z', why: 'before' },
    { zone: 'Europe/Berlin', local: '2027-03-28 08:00', instant: '2027-03-28T06:00Z', why: 'after' },
    { zone: 'Europe/Berlin', local: '2026-10-25 02:30', instant: '2026-10-25T00:30Z', why: 'overlap' },
    { zone: 'Europe/Berlin', local: '2027-10-31 02:30', instant: '2027-10-31T00:30Z', why: 'overlap' },
    { zone: 'Australia/Sydney', local: '2026-10-04 02:30', instant: '2026-10-03T16:00Z', why: 'gap' },
    { zone: 'Australia/Sydney', local: '2026-10-03 08:00', instant: '2026-10-02T22:00Z', why: 'before' },
    { zone: 'Australia/Sydney', local: '2026-10-04 08:00', instant: '2026-10-03T21:00Z', why: 'after' },
    { zone: 'Australia/Sydney', local: '2027-04-04 02:30', instant: '2027-04-03T15:30Z', why: 'overlap' },
    { zone: 'Australia/Sydney', local: '2027-04-03 08:00', instant: '2027-04-02T21:00Z', why: 'before' },
    { zone: 'Australia/Sydney', local: '2027-04-04 08:00', instant: '2027-04-03T22:00Z', why: 'after' },
    {
      zone: 'Australia/Lord_Howe',
      local: '2026-10-04 02:15',
      instant: '2026-10-03T15:30Z',
      why: 'short gap',
    },
    { zone: 'Australia/Lord_Howe', local: '2027-04-04 01:45', instant: '2027-04-03T14:45Z', why: 'overlap' },
    {
      zone: 'America/Santiago',
      local: '2026-09-06 00:15',
      instant: '2026-09-06T04:00Z',
      why: 'midnight gap',
    },
    { zone: 'America/Santiago', local: '2027-04-03 23:30', instant: '2027-04-04T02:30Z', why: 'overlap' },
    { zone: 'Asia/Kolkata', local: '2026-10-25 02:30', instant: '2026-10-24T21:00Z', why: 'no change' },
    // Samoa left out 30 December 2011 when it crossed the date line (IANA data, file australasia).
    { zone: 'Pacific/Apia', local: '2011-12-30 08:00', instant: '2011-12-30T10:00Z', why: 'missing day' },
  ])('$local in $zone is $instant ($why)', ({ zone, local, instant }) => {
    const [day = '', time = ''] = local.split(' ');
    expect(wallClockInstant(day, time, zone)).toBe(Date.parse(instant));
  });

  it('is found in every zone of two years as a search over Intl.DateTimeFormat finds it', () => {
    let [changes, compared] = [0, 0];
    for (const zone of zones) {
      const stretches = stretchesOf(zone, fromMs - 2 * dayMs, toMs + 2 * dayMs);
      changes += stretches.length - 1;
      for (const localMs of wallTimesAround(stretches)) {
        const [day, time] = [isoDay(localMs), isoTime(localMs)];
        const found = wallClockInstant(day, time, zone);
        if (found !== firstInstantShowing(localMs, stretches)) {
          expect.fail(`${zone} ${day} ${time} was ${new Date(found).toISOString()}`);
        }
        compared += 1;
      }
    }
    // Clocks change in the Americas, Europe and a few more; a search that found none would prove nothing.
    expect(changes).toBeGreaterThan(400);
    expect(compared).toBeGreaterThan(20_000);
  });

  it('never comes before an earlier one of the same day, whatever the clocks do', () => {
    const times = fc.integer({ min: 0, max: 1439 });
    const zone = fc.constantFrom(
      'America/New_York',
      'Australia/Lord_Howe',
      'America/Santiago',
      'Europe/Berlin',
    );
    fc.assert(
      fc.property(zone, fc.integer({ min: 0, max: 730 }), times, times, (where, days, one, other) => {
        const day = addDays('2026-01-01', days);
        const at = (minutes: number) => wallClockInstant(day, isoTime(minutes * 60_000), where);
        expect(Math.sign(at(one) - at(other)) * Math.sign(one - other)).toBeGreaterThanOrEqual(0);
      }),
    );
  });
});

/** Every quarter of an hour from two hours before each change to two after, as clocks show it, and ordinary days. */
function wallTimesAround(stretches: readonly Stretch[]): Set<number> {
  const around = stretches.slice(1).flatMap((after, index) => {
    const before = stretches[index]?.offsetMs ?? after.offsetMs;
    const lowest = after.startMs + Math.min(before, after.offsetMs) - 2 * 3_600_000;
    const highest = after.startMs + Math.max(before, after.offsetMs) + 2 * 3_600_000;
    const quarters = Math.ceil((highest - lowest) / 900_000);
    return Array.from({ length: quarters }, (_, quarter) => lowest + quarter * 900_000);
  });
  const ordinary = Array.from({ length: 24 }, (_, month) => {
    return Date.UTC(2026, month, 1 + ((month * 7) % 28), (month * 5) % 24, 30);
  });
  return new Set([...around, ...ordinary]);
}

describe('a day', () => {
  it('begins at its first instant in every zone, also where clocks change at midnight', () => {
    for (const zone of zones) {
      for (const day of ['2026-03-29', '2026-09-06', '2026-11-01', '2027-04-04', '2027-06-15']) {
        const startMs = startOfDayMs(day, zone);
        expect([zone, isoDayIn(startMs, zone)]).toEqual([zone, day]);
        expect([zone, isoDayIn(startMs - 1, zone)]).toEqual([zone, addDays(day, -1)]);
      }
    }
  });

  it('is the one that Intl.DateTimeFormat shows', () => {
    const instants = fc.integer({ min: fromMs, max: toMs });
    fc.assert(
      fc.property(fc.constantFrom(...zones), instants, (zone, atMs) => {
        // Swedish dates are written as ISO 8601 has them.
        expect(isoDayIn(atMs, zone)).toBe(new Intl.DateTimeFormat('sv-SE', { timeZone: zone }).format(atMs));
      }),
    );
  });

  it('counts through more days than it remembers, and remembers none wrongly', () => {
    const fromMs = Date.UTC(1990, 0, 1);
    for (let count = 0; count < 12_000; count += 1) {
      expect(addDays('1990-01-01', count)).toBe(
        new Date(fromMs + count * 86_400_000).toISOString().slice(0, 10),
      );
    }
    expect(addDays('2026-03-01', 0.5), 'in the middle of it').toBe('2026-03-01');
    expect(startOfDayMs('2026-03-01', 'UTC')).toBe(Date.UTC(2026, 2, 1));
  });

  it('is followed by the next of the calendar, and its week begins on a Monday', () => {
    const days = fc.integer({ min: -400, max: 4_000 });
    fc.assert(
      fc.property(days, days, (first, more) => {
        const day = isoDay(fromMs + first * dayMs);
        expect(addDays(day, more)).toBe(isoDay(fromMs + (first + more) * dayMs));
        const monday = mondayOf(day);
        expect(new Date(monday).getUTCDay()).toBe(1);
        expect((Date.parse(day) - Date.parse(monday)) / dayMs).toSatisfy((ahead) => ahead >= 0 && ahead < 7);
      }),
    );
  });

  it('or a time or a zone that does not exist is refused', () => {
    expect(() => wallClockInstant('2026-02-30', '08:00', 'Europe/Berlin')).toThrow(RangeError);
    expect(() => wallClockInstant('2026-02-03', '24:30', 'Europe/Berlin')).toThrow(RangeError);
    expect(() => wallClockInstant('2026-02-03', '08:00', 'Europe/Atlantis')).toThrow(RangeError);
  });
});
