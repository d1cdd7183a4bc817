import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Occurrence, occurrencesOf, type PlanHistory } from '../../src/schedule/calendar.js';
import { rhythmOf, slotsOf } from '../../src/schedule/slots.js';
import { addDays, isoDayIn, wallClockInstant } from '../../src/schedule/wallClock.js';
import { plainTimetable, someZones, timetables } from './timetables.js';

const zone = 'Europe/Berlin';
const at = (day: string, time: string) => wallClockInstant(day, time, zone);
/** A Monday, at noon. */
const signedAtMs = at('2026-11-23', '12:00');
const reach = { backDays: 14, aheadDays: 84 };

const history: PlanHistory = {
  prescriptionId: 'b1',
  zone,
  zoneRevision: 0,
  versions: [{ number: 1, signedAtMs, timetable: { ...plainTimetable, timesADay: 2 } }],
  states: [],
  breaks: [],
  holds: [],
};
const on = (day: string, occurrences: readonly Occurrence[]) =>
  occurrences
    .filter((each) => each.day === day)
    .map(({ localStart, isCancelled, sequence }) => {
      return `${localStart.slice(11)}${isCancelled ? ' off' : ''} ${sequence}`;
    });

describe('the calendar of a prescription', () => {
  it('begins with the next session after it was signed, and reaches as far as it says', () => {
    const found = occurrencesOf(history, at('2026-11-25', '08:00'), reach);
    expect(on('2026-11-23', found), 'the morning was over').toEqual(['17:00 1']);
    expect(on('2026-11-24', found)).toEqual(['09:00 1', '17:00 1']);
    expect(found.at(-1)?.day).toBe(addDays('2026-11-25', 84));
    expect(found).toHaveLength(1 + 2 * 86);
    const later = occurrencesOf(history, at('2026-12-25', '08:00'), reach);
    expect(later[0]?.day, 'two weeks back').toBe('2026-12-11');
  });

  it('names each session for ever, without a name or what it is about', () => {
    const [first] = occurrencesOf(history, signedAtMs, reach);
    expect(first?.uid).toBe('2026-11-23-2.b1@stillcount');
  });

  it('follows a new version from the next session on, and shows what it took off', () => {
    const changedMs = at('2026-11-25', '12:00');
    const timetable = { ...plainTimetable, timesADay: 1, timesOfDay: ['08:15'] };
    const versions = [...history.versions, { number: 2, signedAtMs: changedMs, timetable }];
    const found = occurrencesOf({ ...history, versions }, changedMs, reach);
    expect(on('2026-11-24', found), 'what was stays').toEqual(['09:00 1', '17:00 1']);
    expect(on('2026-11-25', found), 'the morning was over, the evening goes').toEqual([
      '09:00 1',
      '17:00 off 2',
    ]);
    expect(on('2026-11-26', found)).toEqual(['08:15 2', '17:00 off 2']);
    const far = addDays('2026-11-25', 84);
    expect(on(far, found)).toEqual(['08:15 2', '17:00 off 2']);
    const nextDay = occurrencesOf({ ...history, versions }, changedMs + 86_400_000, reach);
    expect(on(addDays(far, 1), nextDay), 'no calendar had shown the evening of that day').toEqual([
      '08:15 2',
    ]);
  });

  it('pauses, goes on and ends', () => {
    const [pausedMs, resumedMs, endedMs] = [
      at('2026-11-24', '12:00'),
      at('2026-11-26', '12:00'),
      at('2026-11-28', '12:00'),
    ];
    const states = [
      { state: 'paused', atMs: pausedMs },
      { state: 'active', atMs: resumedMs },
      { state: 'ended', atMs: endedMs },
    ] as const;
    const paused = occurrencesOf({ ...history, states }, pausedMs, reach);
    expect(paused.filter(({ isCancelled, startsAtMs }) => !isCancelled && startsAtMs > pausedMs)).toEqual([]);
    expect(on('2026-11-24', paused)).toEqual(['09:00 1', '17:00 off 2']);
    const resumed = occurrencesOf({ ...history, states }, resumedMs, reach);
    expect(on('2026-11-26', resumed)).toEqual(['09:00 off 2', '17:00 3']);
    expect(on('2026-11-27', resumed)).toEqual(['09:00 3', '17:00 3']);
    const ended = occurrencesOf({ ...history, states }, endedMs, reach);
    expect(on('2026-11-27', ended)).toEqual(['09:00 3', '17:00 3']);
    expect(on('2026-11-28', ended)).toEqual(['09:00 3', '17:00 off 4']);
    expect(ended.filter(({ isCancelled, startsAtMs }) => !isCancelled && startsAtMs > endedMs)).toEqual([]);
  });

  it('leaves out the days of a break from when it is known, and brings them back when it is taken back', () => {
    const createdAtMs = at('2026-11-24', '12:00');
    const removedAtMs = at('2026-11-25', '12:00');
    const away = { fromDay: '2026-11-23', untilDay: '2026-11-26', createdAtMs, removedAtMs };
    const known = occurrencesOf({ ...history, breaks: [away] }, createdAtMs, reach);
    expect(on('2026-11-24', known), 'it could not be known in the morning').toEqual([
      '09:00 1',
      '17:00 off 2',
    ]);
    expect(on('2026-11-26', known)).toEqual(['09:00 off 2', '17:00 off 2']);
    expect(on('2026-11-27', known)).toEqual(['09:00 1', '17:00 1']);
    const back = occurrencesOf({ ...history, breaks: [away] }, removedAtMs, reach);
    expect(on('2026-11-25', back)).toEqual(['09:00 off 2', '17:00 3']);
    expect(on('2026-11-26', back)).toEqual(['09:00 3', '17:00 3']);
  });

  it('holds everything back while a warning sign waits for an answer', () => {
    const [fromMs, untilMs] = [at('2026-11-24', '12:00'), at('2026-11-25', '12:00')];
    const held = { ...history, holds: [{ fromMs, untilMs }] };
    expect(on('2026-11-26', occurrencesOf(held, fromMs, reach))).toEqual(['09:00 off 2', '17:00 off 2']);
    expect(on('2026-11-26', occurrencesOf(held, untilMs, reach))).toEqual(['09:00 3', '17:00 3']);
  });

  it('moves to another zone with the same sessions, each once and newer than before', () => {
    const before = occurrencesOf(history, signedAtMs, reach);
    const moved = { ...history, zone: 'America/New_York', zoneRevision: 1 };
    const after = occurrencesOf(moved, signedAtMs, reach);
    const byUid = new Map(after.map((each) => [each.uid, each]));
    for (const { uid, localStart, startsAtMs, sequence } of before) {
      const there = byUid.get(uid);
      expect(there?.localStart).toBe(localStart);
      // New York is six hours behind Berlin all winter (IANA data).
      expect(there?.startsAtMs).toBe(startsAtMs + 6 * 3_600_000);
      expect(there?.sequence).toBeGreaterThan(sequence);
    }
  });

  it('says on how many of the days it is to be done, where there are more to choose from', () => {
    const timetable = { ...plainTimetable, daysAWeek: 3, weekdayTimes: { sunday: [] } };
    const choosing = { ...history, versions: [{ number: 1, signedAtMs, timetable }] };
    expect(occurrencesOf(choosing, signedAtMs, reach)[0]?.daysToChoose).toBe(3);
    const six = { ...timetable, daysAWeek: 6 };
    const all = { ...history, versions: [{ number: 1, signedAtMs, timetable: six }] };
    expect(occurrencesOf(all, signedAtMs, reach)[0]?.daysToChoose).toBe(null);
  });
});

const firstMs = Date.UTC(2026, 9, 1);
/** Four weeks in which clocks change in Berlin and on Lord Howe Island (IANA data). */
const moments = fc.integer({ min: 0, max: 28 * 24 * 60 }).map((minutes) => firstMs + minutes * 60_000);
const later = (afterMs: number, minutes: number | null) =>
  minutes === null ? null : afterMs + minutes * 60_000;
const minutesLater = fc.option(fc.integer({ min: 0, max: 14 * 24 * 60 }));

const histories: fc.Arbitrary<PlanHistory> = fc
  .record({
    zone: fc.constantFrom(...someZones),
    versions: fc.array(fc.record({ signedAtMs: moments, timetable: timetables }), {
      minLength: 1,
      maxLength: 3,
    }),
    states: fc.array(
      fc.record({ state: fc.constantFrom('active', 'active', 'paused', 'paused', 'ended'), atMs: moments }),
      {
        maxLength: 3,
      },
    ),
    breaks: fc.array(
      fc.record({
        moved: fc.integer({ min: -5, max: 20 }),
        createdAtMs: moments,
        minutesLater,
      }),
      { maxLength: 2 },
    ),
    holds: fc.array(fc.record({ fromMs: moments, minutesLater }), { maxLength: 1 }),
  })
  .map(({ versions, breaks: standing, holds, ...rest }) => ({
    ...rest,
    prescriptionId: 'b1',
    zoneRevision: 0,
    versions: versions
      .sort((a, b) => a.signedAtMs - b.signedAtMs)
      .map(({ timetable, ...version }, index) => ({
        ...version,
        number: index + 1,
        // Bounds near the weeks that are looked at, or they would hardly ever lie in them.
        timetable: { ...timetable, startsOn: null, endsOn: index === 1 ? '2026-10-20' : null },
      })),
    breaks: standing.map(({ moved, createdAtMs, minutesLater: minutes }) => {
      const fromDay = addDays(isoDayIn(createdAtMs, rest.zone), moved);
      const untilDay = minutes === null ? null : addDays(fromDay, 3);
      return { fromDay, untilDay, createdAtMs, removedAtMs: later(createdAtMs, minutes) };
    }),
    holds: holds.map(({ fromMs, minutesLater: minutes }) => ({ fromMs, untilMs: later(fromMs, minutes) })),
  }));

/** A moment, and one up to six days after it. */
const twoMoments = fc
  .tuple(moments, fc.integer({ min: 0, max: 6 * 24 * 60 }))
  .map(([beforeMs, minutes]) => [beforeMs, beforeMs + minutes * 60_000] as const);
const near = { backDays: 5, aheadDays: 9 };

/** What was planned at a moment, told without the calendar. */
function plannedAt({ zone: where, versions, states, breaks: all, holds }: PlanHistory, nowMs: number) {
  const signed = versions.filter((each) => each.signedAtMs <= nowMs);
  const [state] = [...states]
    .reverse()
    .sort((a, b) => b.atMs - a.atMs)
    .filter(({ atMs }) => atMs <= nowMs);
  const isHeld = holds.some(
    ({ fromMs, untilMs }) => fromMs <= nowMs && (untilMs === null || nowMs < untilMs),
  );
  if (isHeld || (state !== undefined && state.state !== 'active')) return [];
  const standing = all.filter(
    ({ createdAtMs, removedAtMs }) => createdAtMs <= nowMs && (removedAtMs === null || nowMs < removedAtMs),
  );
  const today = isoDayIn(nowMs, where);
  const days = Array.from({ length: near.aheadDays + 1 }, (_, ahead) => addDays(today, ahead));
  const rhythm = rhythmOf([...signed].reverse(), { zone: where, breaks: standing });
  if (rhythm === null) return [];
  return days.flatMap((day) => slotsOf(rhythm, day)).filter(({ dueAtMs }) => dueAtMs >= nowMs);
}

describe('whatever happens to a prescription', () => {
  it('the calendar shows what is to come as it is planned, and nothing else', () => {
    let seen = 0;
    fc.assert(
      fc.property(histories, moments, (random, nowMs) => {
        const found = occurrencesOf(random, nowMs, near);
        expect(new Set(found.map(({ uid }) => uid)).size).toBe(found.length);
        // A session whose time was over before a change moved it is not called a second time.
        const over = new Set(
          found.filter((each) => each.startsAtMs < nowMs && !each.isCancelled).map(({ slot }) => slot),
        );
        const coming = found.filter((each) => each.startsAtMs >= nowMs && !each.isCancelled);
        const planned = plannedAt(random, nowMs).filter(({ slot }) => !over.has(slot));
        const byTime = (a: { startsAtMs: number; slot: string }, b: { startsAtMs: number; slot: string }) =>
          a.startsAtMs - b.startsAtMs || (a.slot < b.slot ? -1 : 1);
        expect(coming.map(({ slot, startsAtMs }) => ({ slot, startsAtMs })).sort(byTime)).toEqual(
          planned.map(({ slot, dueAtMs }) => ({ slot, startsAtMs: dueAtMs })).sort(byTime),
        );
        seen += coming.length;
      }),
      { numRuns: 400 },
    );
    expect(seen, 'there was something to look at').toBeGreaterThan(1_000);
  });

  it('an occurrence grows newer with every change of it, and is never older than it was', () => {
    let changed = 0;
    fc.assert(
      fc.property(histories, twoMoments, (random, [beforeMs, nowMs]) => {
        const now = new Map(occurrencesOf(random, nowMs, near).map((each) => [each.uid, each]));
        for (const before of occurrencesOf(random, beforeMs, near)) {
          const after = now.get(before.uid);
          if (after === undefined) continue;
          if (after.sequence === before.sequence) {
            expect(after, 'the same number, the same in everything').toEqual(before);
          } else {
            expect(after.sequence).toBeGreaterThan(before.sequence);
            expect(after.lastChangedAtMs).toBeGreaterThan(before.lastChangedAtMs);
            changed += 1;
          }
        }
      }),
      { numRuns: 800 },
    );
    expect(changed, 'there was something to look at').toBeGreaterThan(200);
  });

  it('nothing that a calendar showed goes missing while it reaches there, and what is over stays as it was', () => {
    fc.assert(
      fc.property(histories, twoMoments, (random, [beforeMs, nowMs]) => {
        const now = new Map(occurrencesOf(random, nowMs, near).map((each) => [each.uid, each]));
        const firstDay = addDays(isoDayIn(nowMs, random.zone), -near.backDays);
        for (const before of occurrencesOf(random, beforeMs, near)) {
          if (before.day < firstDay) continue;
          const after = now.get(before.uid);
          expect(after).toBeDefined();
          if (before.startsAtMs < beforeMs && !before.isCancelled) expect(after).toEqual(before);
        }
      }),
      { numRuns: 400 },
    );
  });

  it('a stop cancels all that was to come', () => {
    fc.assert(
      fc.property(histories, twoMoments, (random, [endedMs, nowMs]) => {
        const ended = {
          ...random,
          states: [
            ...random.states.filter(({ atMs }) => atMs < endedMs),
            { state: 'ended', atMs: endedMs } as const,
          ],
        };
        const alive = occurrencesOf(ended, nowMs, near).filter(({ isCancelled }) => !isCancelled);
        expect(alive.filter(({ startsAtMs }) => startsAtMs >= endedMs)).toEqual([]);
      }),
      { numRuns: 200 },
    );
  });

  it('the same calendar comes of the same history, in whatever order it is told', () => {
    fc.assert(
      fc.property(histories, moments, (random, nowMs) => {
        const other = {
          ...random,
          versions: [...random.versions].reverse(),
          breaks: [...random.breaks].reverse(),
        };
        const distinct = new Set(random.versions.map((version) => version.signedAtMs)).size;
        fc.pre(distinct === random.versions.length);
        expect(occurrencesOf(other, nowMs, near)).toEqual(occurrencesOf(random, nowMs, near));
      }),
      { numRuns: 100 },
    );
  });
});
