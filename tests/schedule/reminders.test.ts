import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  delayPastQuietHours,
  type ReminderRules,
  remindersOf,
  usualReminderRules,
} from '../../src/schedule/reminders.js';
import { type Rhythm, slotsOf } from '../../src/schedule/slots.js';
import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { type Stretch, stretchesOf } from './offsets.js';
import { days, minutesOf, plainTimetable, rhythms, someZones, timeOfDay } from './timetables.js';

const minuteMs = 60_000;
const zone = 'Europe/Berlin';
const at = (day: string, time: string) => wallClockInstant(day, time, zone);
const day = '2026-11-25';
const slot = { slot: `${day}#1`, dueAtMs: at(day, '09:00') };
const usual = { ...usualReminderRules, caregiverAfterMinutes: 45 };
const never = { quietFrom: '00:00', quietUntil: '00:00' };

describe('the reminders of a session', () => {
  it('are one at its time, and one for caregivers when it was not begun', () => {
    expect(remindersOf([slot], usual, zone)).toEqual([
      {
        kind: 'due',
        slot: slot.slot,
        slotDueAtMs: slot.dueAtMs,
        forAtMs: at(day, '09:00'),
        sendAtMs: at(day, '09:00'),
        goodUntilMs: at(day, '10:00'),
      },
      {
        kind: 'not-begun',
        slot: slot.slot,
        slotDueAtMs: slot.dueAtMs,
        forAtMs: at(day, '09:45'),
        sendAtMs: at(day, '09:45'),
        goodUntilMs: at(day, '10:45'),
      },
    ]);
    const without = remindersOf([slot], { ...usual, caregiverAfterMinutes: null }, zone);
    expect(without.map(({ kind }) => kind)).toEqual(['due']);
  });

  it('wait for the morning, and are left out when that is too late', () => {
    const early = { slot: `${day}#1`, dueAtMs: at(day, '06:30') };
    expect(remindersOf([early], usual, zone).map(({ sendAtMs }) => sendAtMs)).toEqual([
      at(day, '07:00'),
      at(day, '07:15'),
    ]);
    const tooEarly = { slot: `${day}#1`, dueAtMs: at(day, '06:00') };
    expect(remindersOf([tooEarly], usual, zone).map(({ sendAtMs }) => sendAtMs)).toEqual([
      // At seven, an hour of grace is over in that moment.
      null,
      at(day, '07:00'),
    ]);
    const late = { slot: `${day}#2`, dueAtMs: at(day, '20:30') };
    expect(remindersOf([late], usual, zone).map(({ sendAtMs }) => sendAtMs)).toEqual([
      at(day, '20:30'),
      null,
    ]);
  });

  // The table of clock changes that tests/schedule/wallClock.test.ts holds, here as reminders: an hour in a gap (the
  // first instant after it), in an overlap (the first of the two), and the usual ones beside it. IANA data.
  it.each([
    { where: 'America/New_York', local: '2027-03-14 02:30', instant: '2027-03-14T07:00Z' },
    { where: 'America/New_York', local: '2027-03-13 08:00', instant: '2027-03-13T13:00Z' },
    { where: 'America/New_York', local: '2027-03-14 08:00', instant: '2027-03-14T12:00Z' },
    { where: 'America/New_York', local: '2026-11-01 01:30', instant: '2026-11-01T05:30Z' },
    { where: 'Europe/Berlin', local: '2027-03-28 02:30', instant: '2027-03-28T01:00Z' },
    { where: 'Europe/Berlin', local: '2026-10-25 02:30', instant: '2026-10-25T00:30Z' },
    { where: 'Australia/Sydney', local: '2026-10-04 02:30', instant: '2026-10-03T16:00Z' },
    { where: 'Australia/Sydney', local: '2027-04-04 02:30', instant: '2027-04-03T15:30Z' },
    { where: 'Australia/Lord_Howe', local: '2026-10-04 02:15', instant: '2026-10-03T15:30Z' },
    { where: 'Australia/Lord_Howe', local: '2027-04-04 01:45', instant: '2027-04-03T14:45Z' },
    { where: 'America/Santiago', local: '2026-09-06 00:15', instant: '2026-09-06T04:00Z' },
    { where: 'America/Santiago', local: '2027-04-03 23:30', instant: '2027-04-04T02:30Z' },
    { where: 'Asia/Kolkata', local: '2026-10-25 02:30', instant: '2026-10-24T21:00Z' },
  ])('come once for $local in $where, at $instant', ({ where, local, instant }) => {
    const [on = '', time = ''] = local.split(' ');
    const rhythm: Rhythm = { ...plainTimetable, timesOfDay: [time], zone: where, breaks: [] };
    const rules = { ...usual, ...never, caregiverAfterMinutes: null };
    const found = remindersOf(slotsOf(rhythm, on), rules, where);
    expect(found.map(({ sendAtMs }) => sendAtMs)).toEqual([Date.parse(instant)]);
  });
});

describe('quiet hours', () => {
  it('go from the one to the other, over midnight too', () => {
    const night = { quietFrom: '21:00', quietUntil: '07:00' };
    const until = (time: string) => delayPastQuietHours(at(day, time), night, zone);
    expect([until('20:59'), until('21:00'), until('23:59')]).toEqual([
      at(day, '20:59'),
      at('2026-11-26', '07:00'),
      at('2026-11-26', '07:00'),
    ]);
    expect([until('00:00'), until('06:59'), until('07:00')]).toEqual([
      at(day, '07:00'),
      at(day, '07:00'),
      at(day, '07:00'),
    ]);
    const noon = { quietFrom: '12:30', quietUntil: '14:30' };
    expect(delayPastQuietHours(at(day, '13:00'), noon, zone)).toBe(at(day, '14:30'));
    expect(delayPastQuietHours(at(day, '12:29'), noon, zone)).toBe(at(day, '12:29'));
    expect(delayPastQuietHours(at(day, '13:00'), never, zone), 'none').toBe(at(day, '13:00'));
  });

  it('last until their end comes a second time, for whoever is in the second hour of two', () => {
    // Clocks go back from 03:00 to 02:00 on 25 October 2026 at 01:00 UTC (IANA data, file europe).
    const until = { quietFrom: '22:00', quietUntil: '02:30' };
    expect(delayPastQuietHours(Date.UTC(2026, 9, 25, 0, 10), until, zone)).toBe(Date.UTC(2026, 9, 25, 0, 30));
    expect(delayPastQuietHours(Date.UTC(2026, 9, 25, 1, 10), until, zone)).toBe(Date.UTC(2026, 9, 25, 1, 30));
  });

  const stretches = new Map<string, Stretch[]>(
    someZones.map((each) => [each, stretchesOf(each, Date.UTC(2026, 5, 1), Date.UTC(2028, 8, 1))]),
  );
  const quietHours = fc
    .tuple(fc.integer({ min: 0, max: 1439 }), fc.integer({ min: 0, max: 1439 }))
    .map(([from, until]) => ({ quietFrom: timeOfDay(from), quietUntil: timeOfDay(until) }));
  /** Within a day of a clock change where there are any. */
  const moments = fc
    .record({
      where: fc.constantFrom(...someZones),
      which: fc.nat(),
      minutes: fc.integer({ min: -1440, max: 1440 }),
      seconds: fc.integer({ min: 0, max: 59 }),
    })
    .map(({ where, which, minutes, seconds }) => {
      const inside = (stretches.get(where) ?? []).slice(1);
      const changeMs = inside[which % Math.max(1, inside.length)]?.startMs ?? Date.UTC(2027, 2, 28);
      return { where, atMs: changeMs + minutes * minuteMs + seconds * 1000 };
    });

  it('end when a search over Intl.DateTimeFormat finds their end', () => {
    let moved = 0;
    fc.assert(
      fc.property(moments, quietHours, ({ where, atMs }, quiet) => {
        const found = delayPastQuietHours(atMs, quiet, where);
        expect(found).toBe(firstOutside(atMs, quiet, stretches.get(where) ?? []));
        if (found !== atMs) moved += 1;
      }),
      { numRuns: 3_000 },
    );
    expect(moved).toBeGreaterThan(500);
  });

  const rules: fc.Arbitrary<ReminderRules> = fc
    .record({
      quiet: quietHours,
      graceMinutes: fc.integer({ min: 5, max: 600 }),
      caregiverAfterMinutes: fc.option(fc.integer({ min: 5, max: 240 })),
    })
    .map(({ quiet, ...rest }) => ({ ...usual, ...quiet, ...rest }));

  it('hold every reminder: none goes within them, before it is for, or when it is good no more', () => {
    let [sent, left] = [0, 0];
    fc.assert(
      fc.property(rhythms, days, rules, (rhythm, on, random) => {
        const slots = slotsOf(rhythm, on);
        const found = remindersOf(slots, random, rhythm.zone);
        const kinds = random.caregiverAfterMinutes === null ? 1 : 2;
        expect(found).toHaveLength(slots.length * kinds);
        expect(found.map(({ forAtMs }) => forAtMs)).toEqual(
          found.map(({ forAtMs }) => forAtMs).sort((a, b) => a - b),
        );
        for (const { kind, slotDueAtMs, forAtMs, sendAtMs, goodUntilMs } of found) {
          const after = kind === 'due' ? 0 : (random.caregiverAfterMinutes ?? Number.NaN);
          expect(forAtMs - slotDueAtMs).toBe(after * minuteMs);
          expect(goodUntilMs - forAtMs).toBe(random.graceMinutes * minuteMs);
          const outsideMs = firstOutside(forAtMs, random, stretches.get(rhythm.zone) ?? []);
          expect(sendAtMs).toBe(outsideMs < goodUntilMs ? outsideMs : null);
          if (sendAtMs === null) left += 1;
          else sent += 1;
        }
      }),
      { numRuns: 1_000 },
    );
    expect(Math.min(sent, left), 'both were met').toBeGreaterThan(100);
  });
});

/**
 * By search: quiet hours end when clocks show their end, or where they are put forward over it. That clocks are set
 * back to a time before they began does not end them.
 */
function firstOutside(
  atMs: number,
  { quietFrom, quietUntil }: { quietFrom: string; quietUntil: string },
  stretches: readonly Stretch[],
): number {
  const [from, until] = [minutesOf(quietFrom), minutesOf(quietUntil)];
  const isQuiet = (ms: number) => {
    const offsetMs =
      stretches.find(({ startMs, endMs }) => startMs <= ms && ms < endMs)?.offsetMs ?? Number.NaN;
    const minutes = Math.floor((ms + offsetMs) / minuteMs) % 1440;
    return from <= until ? minutes >= from && minutes < until : minutes >= from || minutes < until;
  };
  const nearby = stretches.filter(({ startMs, endMs }) => endMs > atMs && startMs < atMs + 3 * 86_400_000);
  const candidates = nearby.flatMap(({ startMs, endMs, offsetMs }) => {
    const firstDayMs = Math.floor((Math.max(startMs, atMs) + offsetMs) / 86_400_000) * 86_400_000;
    const ends = [0, 1, 2, 3].map((ahead) => firstDayMs + ahead * 86_400_000 + until * minuteMs - offsetMs);
    const before = stretches.find((each) => each.endMs === startMs);
    const isPutForward = before !== undefined && before.offsetMs < offsetMs;
    return [...(isPutForward ? [startMs] : []), ...ends].filter((ms) => startMs <= ms && ms < endMs);
  });
  const found = [atMs, ...candidates].filter((ms) => ms >= atMs && !isQuiet(ms));
  return Math.min(...found);
}
