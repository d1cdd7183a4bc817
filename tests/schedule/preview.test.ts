import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Heard } from '../../src/schedule/plannedStates.js';
import { type PreviewedProgram, previewOf, shownAtMs } from '../../src/schedule/preview.js';
import { type ReminderRules, remindersOf, usualReminderRules } from '../../src/schedule/reminders.js';
import { decideDelivery } from '../../src/schedule/sending.js';
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
  { heard = [], putOff = [], rested }: { heard?: [string, Heard][]; putOff?: string[]; rested?: string } = {},
): PreviewedProgram {
  return {
    ...{ id: 'program', rhythm, heard: new Map(heard) },
    isPutOff: (slot) => putOff.includes(slot),
    restedAtMs: rested === undefined ? 0 : Date.parse(rested),
  };
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
    return each.wouldBeSentAtMs === null ? `[${line}]` : line;
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
      '2026-11-26T09:30 not-begun Tom, Vera',
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
      '2026-11-26T00:10 not-begun Tom',
      '2026-11-26T22:40 due Tom',
      '2026-11-27T00:10 not-begun Tom',
    ]);
  });

  it('waits for rest from the last session, and caregivers for as long as the patient has known', () => {
    const now = '2026-11-25T07:00:00Z';
    const recipients = [rosa, caregiver('Tom', true, true)];
    const lines = (more: Partial<Rhythm>, rested?: string) =>
      linesOf(programOf(rhythmOf(more), rested === undefined ? {} : { rested }), {
        now,
        recipients,
        shown: 1,
      });
    expect(lines({}, '2026-11-25T08:40:00Z')).toEqual([
      '2026-11-25T08:40 due Rosa, Tom',
      '2026-11-25T10:10 not-begun Tom',
    ]);
    // By then it would be more than the hour too late that is agreed on.
    expect(lines({}, '2026-11-25T09:10:00Z')).toEqual([]);
    // Told at 07:00 in place of 06:30, in Berlin: the 90 minutes begin then.
    expect(linesOf(programOf(rhythmOf({ timesOfDay: ['06:30'] })), { recipients, shown: 2 })).toEqual([
      '2026-11-26T06:00 due Rosa, Tom',
      '2026-11-26T07:30 not-begun Tom',
    ]);
  });

  it('is what the decision sends, as soon as it does, for any timetable, rules and people', () => {
    const rules: fc.Arbitrary<ReminderRules> = fc.record({
      quietFrom: fc.integer({ min: 0, max: 1439 }).map(timeOfDay),
      quietUntil: fc.integer({ min: 0, max: 1439 }).map(timeOfDay),
      graceMinutes: fc.integer({ min: 5, max: 240 }),
      caregiverAfterMinutes: fc.option(fc.integer({ min: 10, max: 240 })),
      quietAfterDays: fc.constant(3),
    });
    let compared = 0;
    const property = fc.property(
      rhythms,
      rules,
      fc.boolean(),
      fc.boolean(),
      days,
      fc.integer({ min: 0, max: 30 }),
      (any, agreed, isReminded, tellsTom, day, restedHours) => {
        // Most days would lie before its first day or after its last one, and there would be little to compare.
        const rhythm = { ...any, startsOn: null, endsOn: null };
        const nowMs = startOfDayMs(day, rhythm.zone);
        const restedAtMs = nowMs + restedHours * 3_600_000;
        const own = { ...rosa, agreed: { isPatient: true, isReminded } as const };
        const recipients = [own, caregiver('Tom', true, tellsTom)];
        const programs = [{ ...programOf(rhythm), restedAtMs }];
        const asked = { programs, recipients, rules: agreed, zone: rhythm.zone, nowMs, days: shownDays };
        const shown = new Map(previewOf(asked).map((each) => [`${each.kind} ${each.slot}`, each]));
        for (let index = 0; index < shownDays; index += 1) {
          const slots = slotsOf(rhythm, addDays(isoDayIn(nowMs, rhythm.zone), index));
          for (const planned of remindersOf(slots, agreed, rhythm.zone)) {
            const key = `${planned.kind} ${planned.slot}`;
            const dueAtMs = shown.get(`due ${planned.slot}`)?.wouldBeSentAtMs ?? null;
            const known = dueAtMs === null ? unsent : ({ state: 'sent', atMs: dueAtMs } as const);
            const decideAt = (atMs: number) =>
              decideDelivery({
                ...{
                  planned,
                  keptForAtMs: planned.forAtMs,
                  rules: agreed,
                  zone: rhythm.zone,
                  restedAtMs,
                  ...wanted,
                  nowMs: atMs,
                },
                ownReminder: isReminded ? known : null,
                caregiverAfterMinutes: agreed.caregiverAfterMinutes,
              }).do;
            const sentAtMs = shown.get(key)?.wouldBeSentAtMs ?? null;
            const { forAtMs, goodUntilMs } = planned;
            if (planned.kind === 'not-begun' && !tellsTom) {
              expect(shown.has(key), 'nobody gets it').toBe(false);
              continue;
            }
            if (sentAtMs !== null) expect(decideAt(sentAtMs), key).toBe('send');
            for (let atMs = forAtMs; atMs < (sentAtMs ?? goodUntilMs); atMs += lookEveryMs) {
              expect(decideAt(atMs), `${key}, before`).not.toBe('send');
            }
            compared += 1;
          }
        }
      },
    );
    fc.assert(property, { numRuns: 150 });
    expect(compared, 'there was something to compare').toBeGreaterThan(200);
  });
});

const shownDays = 3;
const lookEveryMs = 7 * 60_000;
const unsent = { state: 'unsent' } as const;

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
  hasClinicNumber: true,
  hasAddress: true,
  isHeldByWarning: false,
  hasBegun: false,
  isPutOff: false,
  isWeekDone: false,
} as const;
