import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Heard } from '../../src/schedule/plannedStates.js';
import { type PreviewedProgram, previewOf, shownAtMs } from '../../src/schedule/preview.js';
import { isFor } from '../../src/schedule/recipients.js';
import { type ReminderRules, remindersOf, usualReminderRules } from '../../src/schedule/reminders.js';
import { decide } from '../../src/schedule/sending.js';
import { type Rhythm, slotsOf } from '../../src/schedule/slots.js';
import { addDays, isoDayIn, startOfDayMs } from '../../src/schedule/wallClock.js';
import { days, plainTimetable, rhythms, timeOfDay } from './timetables.js';

const rosa = { name: 'Rosa', agreed: { isPatient: true, isReminded: true } } as const;
const caregiver = (name: string, isReminded: boolean, toldNotBegun: boolean) => ({
  name,
  agreed: { isPatient: false, isReminded, toldNotBegun } as const,
});
const zone = 'Europe/Berlin';
const rhythmOf = (more: Partial<Rhythm> = {}): Rhythm => ({ ...plainTimetable, zone, breaks: [], ...more });

function programOf(
  rhythm: Rhythm,
  { heard = [], putOff = [] }: { heard?: [string, Heard][]; putOff?: string[] } = {},
): PreviewedProgram {
  return { id: 'program', rhythm, heard: new Map(heard), putOff: new Set(putOff) };
}

type Asked = {
  recipients?: readonly (typeof rosa | ReturnType<typeof caregiver>)[];
  rules?: Partial<ReminderRules>;
  now?: string;
  shown?: number;
};

/** Each line: when in UTC, what, to whom; brackets around what quiet hours hold back. */
function linesOf(
  program: PreviewedProgram,
  { recipients = [rosa], rules = {}, now = '2026-11-25T10:00:00Z', shown = 3 }: Asked = {},
): string[] {
  const nowMs = Date.parse(now);
  const all = { ...usualReminderRules, ...rules };
  const preview = previewOf({ programs: [program], recipients, rules: all, zone, nowMs, days: shown });
  return preview.map((each) => {
    const names = each.recipients.map(({ name }) => name).join(', ');
    const line = `${new Date(shownAtMs(each)).toISOString().slice(0, 16)} ${each.kind} ${names}`;
    return each.sendAtMs === null ? `[${line}]` : line;
  });
}

describe('what will be sent', () => {
  it('follows the clock of the patient over a change to winter time', () => {
    // Europe/Berlin sets its clocks back at 2026-10-25T01:00Z (IANA time zone database).
    const lines = linesOf(programOf(rhythmOf()), { now: '2026-10-24T06:00:00Z' });
    expect(lines).toEqual([
      '2026-10-24T07:00 due Rosa',
      '2026-10-25T08:00 due Rosa',
      '2026-10-26T08:00 due Rosa',
    ]);
  });

  it('goes to whom it was agreed on: that nothing was begun only to those of whom that was agreed on', () => {
    const recipients = [
      rosa,
      caregiver('Tom', true, true),
      caregiver('Uma', true, false),
      caregiver('Vera', false, true),
    ];
    expect(linesOf(programOf(rhythmOf()), { recipients, shown: 2 })).toEqual([
      '2026-11-26T08:00 due Rosa, Tom, Uma',
      '2026-11-26T08:45 not-begun Tom',
    ]);
    const never = { caregiverAfterMinutes: null };
    expect(linesOf(programOf(rhythmOf()), { recipients, shown: 2, rules: never })).toHaveLength(1);
    const nobody = [{ ...rosa, agreed: { isPatient: true, isReminded: false } as const }];
    expect(previewOf({ ...preview(), recipients: nobody })).toEqual([]);
  });

  it('is moved by quiet hours, or held back when they last longer than it is good for', () => {
    const at = (time: string) => programOf(rhythmOf({ timesOfDay: [time] }));
    // 07:00 in Berlin is 06:00 UTC in winter.
    expect(linesOf(at('06:30'), { shown: 2 })).toEqual(['2026-11-26T06:00 due Rosa']);
    expect(linesOf(at('05:00'), { shown: 2 })).toEqual(['[2026-11-26T04:00 due Rosa]']);
    expect(linesOf(at('22:00'), { shown: 1 })).toEqual(['[2026-11-25T21:00 due Rosa]']);
  });

  it('leaves out breaks, days outside of the program, days off and what is over', () => {
    const breaks = [{ fromDay: '2026-11-26', untilDay: '2026-11-26' }];
    const lines = (more: Partial<Rhythm>) => linesOf(programOf(rhythmOf(more)), { shown: 4 });
    expect(lines({ breaks })).toEqual(['2026-11-27T08:00 due Rosa', '2026-11-28T08:00 due Rosa']);
    expect(lines({ endsOn: '2026-11-26' })).toEqual(['2026-11-26T08:00 due Rosa']);
    expect(lines({ startsOn: '2026-11-28' })).toEqual(['2026-11-28T08:00 due Rosa']);
    expect(lines({ weekdayTimes: { thursday: [], friday: ['11:00'] } })).toEqual([
      '2026-11-27T10:00 due Rosa',
      '2026-11-28T08:00 due Rosa',
    ]);
  });

  it('leaves out what was begun or put off, and the days of a week that is done', () => {
    const twice = rhythmOf({ timesADay: 2, daysAWeek: 2 });
    const now = '2026-11-25T07:00:00Z';
    const lines = (more: Parameters<typeof programOf>[1]) =>
      linesOf(programOf(twice, more), { now, shown: 1 });
    expect(lines({})).toEqual(['2026-11-25T08:00 due Rosa', '2026-11-25T16:00 due Rosa']);
    expect(lines({ heard: [['2026-11-25#1', 'begun']] })).toEqual(['2026-11-25T16:00 due Rosa']);
    expect(lines({ putOff: ['2026-11-25#2'] })).toEqual(['2026-11-25T08:00 due Rosa']);
    const done: [string, Heard][] = [
      ['2026-11-23#1', 'done'],
      ['2026-11-24#2', 'done'],
    ];
    expect(lines({ heard: done })).toEqual([]);
  });

  it('still has what belongs to yesterday, after midnight', () => {
    const late = programOf(rhythmOf({ timesOfDay: ['23:40'] }));
    const rules = { quietFrom: '03:00', quietUntil: '04:00' };
    const recipients = [caregiver('Tom', true, true)];
    // A quarter past midnight in Berlin.
    expect(linesOf(late, { now: '2026-11-25T23:15:00Z', recipients, rules, shown: 1 })).toEqual([
      '2026-11-25T23:25 not-begun Tom',
      '2026-11-26T22:40 due Tom',
      '2026-11-26T23:25 not-begun Tom',
    ]);
  });

  it('is exactly what the decision at that moment sends, for any timetable, rules and people', () => {
    const rules: fc.Arbitrary<ReminderRules> = fc.record({
      quietFrom: fc.integer({ min: 0, max: 1439 }).map(timeOfDay),
      quietUntil: fc.integer({ min: 0, max: 1439 }).map(timeOfDay),
      graceMinutes: fc.integer({ min: 5, max: 240 }),
      caregiverAfterMinutes: fc.option(fc.integer({ min: 10, max: 240 })),
      quietAfterDays: fc.constant(3),
    });
    const people = fc.array(
      fc.oneof(
        fc.boolean().map((isReminded) => ({ ...rosa, agreed: { isPatient: true as const, isReminded } })),
        fc.tuple(fc.boolean(), fc.boolean()).map(([reminded, sees]) => caregiver('Tom', reminded, sees)),
      ),
      { maxLength: 3 },
    );
    let sent = 0;
    fc.assert(
      fc.property(rhythms, rules, people, days, (rhythm, agreed, recipients, day) => {
        const nowMs = startOfDayMs(day, rhythm.zone);
        const program = programOf(rhythm);
        const asked = { programs: [program], recipients, rules: agreed, zone: rhythm.zone, nowMs, days: 14 };
        const previewed = previewOf(asked).flatMap(({ kind, slot, sendAtMs, recipients: reached }) =>
          sendAtMs === null ? [] : reached.map((_, index) => `${kind} ${slot} ${index} ${sendAtMs}`),
        );
        const decided: string[] = [];
        for (let index = -1; index < 14; index += 1) {
          const slots = slotsOf(rhythm, addDays(isoDayIn(nowMs, rhythm.zone), index));
          for (const planned of remindersOf(slots, agreed, rhythm.zone)) {
            const atMs = planned.sendAtMs ?? planned.forAtMs;
            if (atMs < nowMs) continue;
            const reached = recipients.filter((each) => isFor(planned.kind, each.agreed));
            const moment = { nowMs: atMs, planned, rules: agreed, zone: rhythm.zone, ...wanted };
            if (decide(moment).do !== 'send') continue;
            decided.push(...reached.map((_, at) => `${planned.kind} ${planned.slot} ${at} ${atMs}`));
          }
        }
        sent += decided.length;
        expect(previewed.sort()).toEqual(decided.sort());
      }),
      { numRuns: 150 },
    );
    expect(sent, 'there was something to compare').toBeGreaterThan(500);
  });
});

const preview = () => ({
  programs: [programOf(rhythmOf())],
  rules: usualReminderRules,
  zone,
  nowMs: Date.parse('2026-11-25T10:00:00Z'),
  days: 14,
});

const wanted = {
  whyNoSlot: 'changed',
  hasConsent: true,
  hasAddress: true,
  isHeldByWarning: false,
  hasBegun: false,
  isPutOff: false,
  isWeekDone: false,
} as const;
