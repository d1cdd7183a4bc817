import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { weekdays } from '../../src/prescription/content.js';
import {
  dayOfSlot,
  isInBreak,
  type Rhythm,
  rhythmOf,
  slotsOf,
  timesOfDayOf,
  timesOn,
  usualTimesOfDay,
  weekdaysOffered,
} from '../../src/schedule/slots.js';
import { addDays, startOfDayMs, timeOfDayIn, wallClockInstant } from '../../src/schedule/wallClock.js';
import { firstInstantShowing, stretchesOf } from './offsets.js';
import { days, minutesOf, plainTimetable, rhythms, someZones, timetables } from './timetables.js';

const zone = 'Europe/Berlin';
const rhythm: Rhythm = { ...plainTimetable, timesADay: 2, timesOfDay: ['08:00', '18:30'], zone, breaks: [] };
/** A Monday to a Sunday (ISO 8601 calendar). */
const week = Array.from({ length: 7 }, (_, ahead) => addDays('2026-11-23', ahead));

const timesIn = (each: Rhythm, day: string) =>
  slotsOf(each, day).map(({ dueAtMs }) => timeOfDayIn(dueAtMs, each.zone));

describe('the sessions of a weekday', () => {
  it('are at its own times where it has some, and at those of an ordinary day else', () => {
    const own = {
      ...rhythm,
      weekdayTimes: { wednesday: ['10:00'], saturday: [], sunday: ['09:00', '19:00'] },
    };
    expect(week.map((day) => timesIn(own, day).join(' '))).toEqual([
      '08:00 18:30',
      '08:00 18:30',
      '10:00',
      '08:00 18:30',
      '08:00 18:30',
      '',
      '09:00 19:00',
    ]);
    expect(slotsOf(own, '2026-11-25').map(({ slot }) => slot)).toEqual(['2026-11-25#1']);
    expect(weekdaysOffered(own)).toEqual(weekdays.filter((weekday) => weekday !== 'saturday'));
  });

  it('are at the usual times where none were said', () => {
    expect(timesIn({ ...rhythm, timesOfDay: [] }, '2026-11-23')).toEqual(usualTimesOfDay[2]);
  });
});

describe('the first and the last day', () => {
  it('have sessions, and the days beyond them none', () => {
    const bounded = { ...rhythm, startsOn: '2026-11-24', endsOn: '2026-11-26' };
    expect(week.filter((day) => slotsOf(bounded, day).length > 0)).toEqual([
      '2026-11-24',
      '2026-11-25',
      '2026-11-26',
    ]);
  });
});

describe('a break', () => {
  it('takes its first and its last day with it; without a last one it goes on', () => {
    const away = { ...rhythm, breaks: [{ fromDay: '2026-11-24', untilDay: '2026-11-26' }] };
    expect(week.filter((day) => slotsOf(away, day).length === 0)).toEqual([
      '2026-11-24',
      '2026-11-25',
      '2026-11-26',
    ]);
    const inHospital = { ...rhythm, breaks: [{ fromDay: '2026-11-28', untilDay: null }] };
    expect(week.filter((day) => slotsOf(inHospital, day).length === 0)).toEqual(['2026-11-28', '2026-11-29']);
    expect(slotsOf(inHospital, '2031-01-01')).toEqual([]);
  });
});

describe('whatever was prescribed, on any day', () => {
  it('there is no session outside of its days, in a break, or on a weekday without one; else all of them', () => {
    let [free, full] = [0, 0];
    fc.assert(
      fc.property(rhythms, days, (random, day) => {
        const slots = slotsOf(random, day);
        const { startsOn, endsOn, breaks } = random;
        // ISO dates are in the order of their text.
        const isOutside =
          (startsOn ?? '') > day ||
          (endsOn ?? '9999') < day ||
          breaks.some(({ fromDay, untilDay }) => fromDay <= day && day <= (untilDay ?? '9999'));
        const weekday = new Intl.DateTimeFormat('en-US', { weekday: 'long', timeZone: 'UTC' })
          .format(Date.parse(day))
          .toLowerCase();
        const own = Object.entries(random.weekdayTimes).find(([name]) => name === weekday)?.[1];
        const times = own ?? timesOfDayOf(random);
        expect(slots.map(({ slot }) => slot)).toEqual(
          isOutside ? [] : times.map((_, index) => `${day}#${index + 1}`),
        );
        if (slots.length === 0) free += 1;
        else full += 1;
      }),
      { numRuns: 2_000 },
    );
    expect(Math.min(free, full), 'both were met').toBeGreaterThan(200);
  });

  it('each is due when a search over Intl.DateTimeFormat finds its time, and never before the one before', () => {
    const stretches = new Map(
      someZones.map((each) => [each, stretchesOf(each, Date.UTC(2026, 5, 1), Date.UTC(2028, 8, 1))]),
    );
    fc.assert(
      fc.property(rhythms, days, (random, day) => {
        const slots = slotsOf({ ...random, breaks: [], startsOn: null, endsOn: null }, day);
        const weekday = weekdays[(new Date(day).getUTCDay() + 6) % 7] ?? 'monday';
        const found = timesOn(random, weekday).map((time) =>
          firstInstantShowing(
            Date.parse(day) + minutesOf(time) * 60_000,
            stretches.get(random.zone as (typeof someZones)[number]) ?? [],
          ),
        );
        expect(slots.map(({ dueAtMs }) => dueAtMs)).toEqual(found);
        expect(found).toEqual([...found].sort((a, b) => a - b));
        expect(slots.every(({ slot }) => dayOfSlot(slot) === day)).toBe(true);
      }),
      { numRuns: 2_000 },
    );
  });

  it('further breaks never bring a session, and take none outside of them', () => {
    fc.assert(
      fc.property(rhythms, days, (random, day) => {
        const without = slotsOf({ ...random, breaks: [] }, day);
        expect(slotsOf(random, day)).toEqual(isInBreak(random.breaks, day) ? [] : without);
      }),
      { numRuns: 500 },
    );
  });
});

describe('the day on which another version is signed', () => {
  const day = '2026-11-25';
  const at = (time: string) => wallClockInstant(day, time, zone);
  const plans = (...signed: [time: string, ...timesOfDay: string[]][]) => {
    const versions = signed.map(([time, ...timesOfDay]) => ({
      signedAtMs: at(time),
      timetable: { ...plainTimetable, timesADay: timesOfDay.length, timesOfDay },
    }));
    const newest = rhythmOf(versions.reverse(), { zone, breaks: [] });
    return slotsOf(newest ?? rhythm, day).map(({ slot, dueAtMs }) => [
      timeOfDayIn(dueAtMs, zone),
      slot.slice(day.length),
    ]);
  };

  it('keeps what was due before, and gives no name of it to anything that comes after', () => {
    expect(plans(['06:00', '09:00', '17:00'], ['12:00', '18:00'])).toEqual([
      ['09:00', '#1'],
      ['18:00', '#3'],
    ]);
  });

  it('knows a session by its time', () => {
    expect(plans(['06:00', '09:00', '17:00'], ['12:00', '17:00'])).toEqual([
      ['09:00', '#1'],
      ['17:00', '#2'],
    ]);
    expect(plans(['06:00', '17:00'], ['12:00', '13:00', '17:00'])).toEqual([
      ['13:00', '#2'],
      ['17:00', '#1'],
    ]);
  });

  it('is for everything that is prescribed now where nothing was due yet', () => {
    expect(plans(['06:00', '17:00'], ['12:00', '09:00'])).toEqual([['09:00', '#2']]);
  });

  it('however often it happens: one name means one moment, the past stays, and the rest is as prescribed last', () => {
    const minutes = fc.integer({ min: 0, max: 1439 });
    const signatures = fc.array(fc.record({ timetable: timetables, minute: minutes }), {
      minLength: 2,
      maxLength: 5,
    });
    let kept = 0;
    fc.assert(
      fc.property(signatures, days, fc.constantFrom(...someZones), (signed, anyDay, anyZone) => {
        const fromMs = startOfDayMs(anyDay, anyZone);
        const versions = signed
          .map(({ timetable, minute }) => ({
            signedAtMs: fromMs + minute * 60_000,
            timetable: { ...timetable, startsOn: null, endsOn: null },
          }))
          .filter(({ signedAtMs }) => signedAtMs < startOfDayMs(addDays(anyDay, 1), anyZone))
          .sort((a, b) => b.signedAtMs - a.signedAtMs);
        const place = { zone: anyZone, breaks: [] };
        const slotsAfter = (from: number) => {
          const newest = rhythmOf(versions.slice(from), place);
          return newest === null ? [] : slotsOf(newest, anyDay);
        };
        const moments = new Map<string, number>();
        for (const { slot, dueAtMs } of versions.flatMap((_, from) => slotsAfter(from))) {
          expect(moments.get(slot) ?? dueAtMs, slot).toBe(dueAtMs);
          moments.set(slot, dueAtMs);
        }
        const [newest] = versions;
        const sinceMs = newest?.signedAtMs ?? 0;
        const [now, before] = [slotsAfter(0), slotsAfter(1)];
        const past = before.filter(({ dueAtMs }) => dueAtMs < sinceMs);
        kept += past.length;
        expect(now.slice(0, past.length)).toEqual(past);
        const alone = newest === undefined ? null : rhythmOf([newest], place);
        const wanted = (alone === null ? [] : slotsOf(alone, anyDay)).map(({ dueAtMs }) => dueAtMs);
        expect(now.slice(past.length).map(({ dueAtMs }) => dueAtMs)).toEqual(
          past.length === 0 ? wanted : wanted.filter((dueAtMs) => dueAtMs >= sinceMs),
        );
      }),
      { numRuns: 1_000 },
    );
    expect(kept, 'it was met').toBeGreaterThan(200);
  });
});
