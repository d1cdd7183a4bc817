import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Reminder, remindersOf, usualReminderRules } from '../../src/schedule/reminders.js';
import { type DeliveryContext, decideDelivery, unsentReasons } from '../../src/schedule/sending.js';
import { slotsOf } from '../../src/schedule/slots.js';
import { timeOfDayIn, wallClockInstant } from '../../src/schedule/wallClock.js';
import { days, rhythms, timeOfDay } from './timetables.js';

const minuteMs = 60_000;
const zone = 'Europe/Berlin';
const day = '2026-11-25';
const at = (time: string, on = day) => wallClockInstant(on, time, zone);

const planned: Reminder = {
  kind: 'due',
  slot: `${day}#1`,
  slotDueAtMs: at('09:00'),
  forAtMs: at('09:00'),
  sendAtMs: at('09:00'),
  goodUntilMs: at('10:00'),
};
const wanted: DeliveryContext = {
  nowMs: at('09:00'),
  planned,
  whyNoSlot: 'not-prescribed',
  rules: usualReminderRules,
  zone,
  keptForAtMs: at('09:00'),
  hasConsent: true,
  hasClinicNumber: true,
  hasAddress: true,
  isHeldByWarning: false,
  hasBegun: false,
  isPutOff: false,
  isWeekDone: false,
  restedAtMs: 0,
  ownReminder: null,
  caregiverAfterMinutes: null,
};

describe('a reminder at its time', () => {
  it('is sent, and says that it is late when more than five minutes have gone by', () => {
    expect(decideDelivery(wanted)).toEqual({ do: 'send', isLate: false });
    expect(decideDelivery({ ...wanted, nowMs: at('09:05') })).toEqual({ do: 'send', isLate: false });
    expect(decideDelivery({ ...wanted, nowMs: at('09:05') + 1 })).toEqual({ do: 'send', isLate: true });
    expect(decideDelivery({ ...wanted, nowMs: at('10:00') - 1 })).toEqual({ do: 'send', isLate: true });
  });

  it('is missed once its hour of grace is over', () => {
    expect(decideDelivery({ ...wanted, nowMs: at('10:00') })).toEqual({ do: 'miss', why: 'too-late' });
  });

  it('is called moved, not late, where its time lay ahead until the clocks leapt over it', () => {
    const moved = { ...wanted, keptForAtMs: at('13:00') };
    expect(decideDelivery({ ...moved, nowMs: at('13:00') })).toEqual({ do: 'miss', why: 'moved' });
    // In its hour of grace it could still have come.
    expect(decideDelivery({ ...moved, keptForAtMs: at('09:30'), nowMs: at('13:00') })).toMatchObject({
      why: 'too-late',
    });
  });

  it('is held, and says why, while the clinic has no number to call', () => {
    const without = { ...wanted, hasClinicNumber: false };
    expect(decideDelivery(without)).toEqual({ do: 'miss', why: 'no-clinic-number' });
    expect(decideDelivery({ ...without, nowMs: at('08:10') }), 'it may be entered until then').toMatchObject({
      do: 'wait',
    });
    expect(decideDelivery({ ...without, hasBegun: true })).toEqual({ do: 'drop', why: 'begun' });
  });

  it('waits where the clock was set back, or it was moved', () => {
    const untilMs = at('09:00');
    expect(decideDelivery({ ...wanted, nowMs: at('08:10') })).toEqual({ do: 'wait', untilMs });
    const moved = { ...planned, sendAtMs: at('09:20') };
    expect(decideDelivery({ ...wanted, planned: moved })).toEqual({ do: 'wait', untilMs: at('09:20') });
  });

  it('waits for the rest after the last session, and is left out when that takes too long', () => {
    const restedAtMs = at('09:40');
    expect(decideDelivery({ ...wanted, restedAtMs })).toEqual({ do: 'wait', untilMs: restedAtMs });
    expect(decideDelivery({ ...wanted, restedAtMs, nowMs: restedAtMs })).toEqual({
      do: 'send',
      isLate: false,
    });
    expect(decideDelivery({ ...wanted, restedAtMs: at('10:00') })).toEqual({ do: 'drop', why: 'resting' });
  });

  it('that a session was not begun counts from when its listener knew of it, or could begin', () => {
    const told: Reminder = {
      ...planned,
      kind: 'not-begun',
      forAtMs: at('10:30'),
      sendAtMs: at('10:30'),
      goodUntilMs: at('12:30'),
    };
    const moment: DeliveryContext = {
      ...wanted,
      planned: told,
      caregiverAfterMinutes: 90,
      nowMs: at('10:30'),
    };
    const sent = { do: 'send', isLate: false };
    expect(decideDelivery({ ...moment, ownReminder: { state: 'sent', atMs: at('09:00') } })).toEqual(sent);
    // The mail server was away for a while.
    expect(decideDelivery({ ...moment, ownReminder: { state: 'sent', atMs: at('09:50') } })).toEqual({
      do: 'wait',
      untilMs: at('11:20'),
    });
    expect(decideDelivery({ ...moment, ownReminder: { state: 'open' } })).toEqual({
      do: 'wait',
      untilMs: at('10:31'),
    });
    expect(decideDelivery({ ...moment, ownReminder: { state: 'unsent' } }), 'nobody waits for ever').toEqual(
      sent,
    );
    expect(decideDelivery({ ...moment, restedAtMs: at('09:45') })).toEqual({
      do: 'wait',
      untilMs: at('11:15'),
    });
  });

  it('that was held up into the evening does not go at night', () => {
    const evening = { ...planned, forAtMs: at('20:30'), sendAtMs: at('20:30'), goodUntilMs: at('21:30') };
    expect(decideDelivery({ ...wanted, planned: evening, nowMs: at('21:00') })).toEqual({
      do: 'miss',
      why: 'quiet-hours',
    });
    const forLong = { ...evening, goodUntilMs: at('08:00', '2026-11-26') };
    expect(decideDelivery({ ...wanted, planned: forLong, nowMs: at('21:00') })).toEqual({
      do: 'wait',
      untilMs: at('07:00', '2026-11-26'),
    });
    expect(decideDelivery({ ...wanted, planned: { ...evening, sendAtMs: null } })).toEqual({
      do: 'miss',
      why: 'quiet-hours',
    });
  });

  it('is dropped when it is no longer wanted, and says why', () => {
    const cases: [Partial<DeliveryContext>, string][] = [
      [{ hasConsent: false }, 'no-consent'],
      [{ hasAddress: false }, 'no-address'],
      [{ isHeldByWarning: true }, 'held-by-warning'],
      [{ hasBegun: true }, 'begun'],
      [{ isPutOff: true }, 'put-off'],
      [{ isWeekDone: true }, 'week-done'],
      [{ planned: null }, 'not-prescribed'],
      [{ planned: null, whyNoSlot: 'in-a-break' }, 'in-a-break'],
      [{ planned: null, whyNoSlot: 'changed' }, 'changed'],
      [{ planned: null, whyNoSlot: 'not-playable' }, 'not-playable'],
    ];
    for (const [changed, why] of cases) {
      expect(decideDelivery({ ...wanted, ...changed })).toEqual({ do: 'drop', why });
      const withoutConsent = decideDelivery({ ...wanted, ...changed, hasConsent: false });
      expect(withoutConsent, 'consent comes before everything else').toEqual({
        do: 'drop',
        why: 'no-consent',
      });
    }
    const others = ['too-late', 'quiet-hours', 'resting', 'moved', 'no-clinic-number'] as const;
    const reasons = new Set([...cases.map(([, why]) => why), ...others]);
    expect([...reasons].sort()).toEqual([...unsentReasons].sort());
  });
});

const rules = fc
  .record({
    quietFrom: fc.integer({ min: 0, max: 1439 }).map(timeOfDay),
    quietUntil: fc.integer({ min: 0, max: 1439 }).map(timeOfDay),
    graceMinutes: fc.integer({ min: 5, max: 600 }),
    caregiverAfterMinutes: fc.option(fc.integer({ min: 5, max: 240 })),
  })
  .map((random) => ({ ...usualReminderRules, ...random }));

/** Mostly wanted, at some moment about its time, with rules that may have been agreed on anew since it was planned. */
const moments: fc.Arbitrary<DeliveryContext & { planned: Reminder }> = fc
  .record({
    rhythm: rhythms,
    day: days,
    rules,
    newRules: fc.option(rules),
    which: fc.nat(),
    minutes: fc.integer({ min: -120, max: 700 }),
    facts: fc.record({
      hasConsent: mostly(true),
      hasAddress: mostly(true),
      hasClinicNumber: mostly(true),
      isHeldByWarning: mostly(false),
      hasBegun: mostly(false),
      isPutOff: mostly(false),
      isWeekDone: mostly(false),
    }),
    restMinutes: fc.integer({ min: -300, max: 200 }),
    own: fc.option(
      fc.oneof(
        fc.constantFrom({ state: 'open' as const }, { state: 'unsent' as const }),
        fc.integer({ min: 0, max: 60 }).map((minutes) => ({ state: 'sent' as const, minutes })),
      ),
    ),
  })
  .map(({ rhythm, day: on, rules: before, newRules, which, minutes, facts, restMinutes, own }) => {
    const free = { ...rhythm, breaks: [], startsOn: null, endsOn: null, weekdayTimes: {} };
    const reminders = remindersOf(slotsOf(free, on), before, rhythm.zone);
    const reminder = reminders[which % reminders.length];
    if (reminder === undefined) throw new Error('a day without a session');
    return {
      ...facts,
      planned: reminder,
      keptForAtMs: reminder.forAtMs,
      whyNoSlot: 'changed',
      rules: newRules ?? before,
      zone: rhythm.zone,
      nowMs: reminder.forAtMs + minutes * minuteMs,
      restedAtMs: reminder.slotDueAtMs + restMinutes * minuteMs,
      ownReminder:
        own?.state === 'sent' ? { state: 'sent', atMs: reminder.slotDueAtMs + own.minutes * minuteMs } : own,
      caregiverAfterMinutes: before.caregiverAfterMinutes,
    };
  });

function mostly(value: boolean): fc.Arbitrary<boolean> {
  return fc.integer({ min: 0, max: 19 }).map((random) => (random === 0 ? !value : value));
}

/** Told without the code under test. */
function isQuietAt(
  atMs: number,
  { rules: { quietFrom, quietUntil }, zone: where }: DeliveryContext,
): boolean {
  const time = timeOfDayIn(atMs, where);
  if (quietFrom <= quietUntil) return quietFrom <= time && time < quietUntil;
  return quietFrom <= time || time < quietUntil;
}
const isUnwanted = (moment: DeliveryContext) =>
  !moment.hasConsent ||
  !moment.hasAddress ||
  moment.isHeldByWarning ||
  moment.hasBegun ||
  moment.isPutOff ||
  moment.isWeekDone;

describe('at whatever moment a reminder would be sent', () => {
  it('it goes only to who agreed, outside of quiet hours, in its time, and to a session that is still to come', () => {
    const done = { send: 0, wait: 0, drop: 0, miss: 0 };
    fc.assert(
      fc.property(moments, (moment) => {
        const decision = decideDelivery(moment);
        done[decision.do] += 1;
        const isResting = decision.do === 'drop' && decision.why === 'resting';
        expect(decision.do === 'drop' && !isResting).toBe(isUnwanted(moment));
        if (decision.do !== 'send') return;
        expect(moment.hasClinicNumber).toBe(true);
        const { nowMs, planned: reminder } = moment;
        expect(isQuietAt(nowMs, moment)).toBe(false);
        expect(nowMs).toBeGreaterThanOrEqual(reminder.forAtMs);
        expect(nowMs).toBeLessThan(reminder.goodUntilMs);
        expect(nowMs, 'after the rest').toBeGreaterThanOrEqual(moment.restedAtMs);
        if (reminder.kind === 'due') {
          const fromMs = Math.max(reminder.sendAtMs ?? 0, moment.restedAtMs);
          expect(decision.isLate).toBe(nowMs - fromMs > 5 * minuteMs);
          return;
        }
        const { ownReminder: mine, caregiverAfterMinutes: after } = moment;
        expect(mine?.state).not.toBe('open');
        const knewMs = mine?.state === 'sent' ? mine.atMs : reminder.slotDueAtMs;
        expect(nowMs - knewMs, 'since they knew').toBeGreaterThanOrEqual((after ?? 0) * minuteMs);
      }),
      { numRuns: 2_000 },
    );
    for (const [what, count] of Object.entries(done)) expect([what, count > 30]).toEqual([what, true]);
  });

  it('it does go when nothing stands against it', () => {
    fc.assert(
      fc.property(moments, (moment) => {
        const { nowMs, planned: reminder } = moment;
        const isOpen =
          reminder.sendAtMs !== null && nowMs >= reminder.sendAtMs && nowMs < reminder.goodUntilMs;
        // Rested for long, and the patient's own reminder is no question any more.
        const free = { ...moment, restedAtMs: 0, ownReminder: null, hasClinicNumber: true };
        fc.pre(isOpen && !isUnwanted(moment) && !isQuietAt(nowMs, moment));
        expect(decideDelivery(free).do).toBe('send');
      }),
      { numRuns: 500 },
    );
  });

  it('what waits is looked at again later, in time, and goes then', () => {
    fc.assert(
      fc.property(moments, (moment) => {
        const decision = decideDelivery(moment);
        if (decision.do !== 'wait') return;
        expect(decision.untilMs).toBeGreaterThan(moment.nowMs);
        // As long as the patient's own reminder is on its way, it is asked every minute.
        if (moment.planned.kind === 'not-begun' && moment.ownReminder?.state === 'open') return;
        expect(decision.untilMs).toBeLessThan(moment.planned.goodUntilMs);
        const then = { ...moment, nowMs: decision.untilMs, hasClinicNumber: true };
        expect(decideDelivery(then).do).toBe('send');
      }),
      { numRuns: 1_000 },
    );
  });

  it('it is never waited for without end: after its time it is missed or was not wanted', () => {
    fc.assert(
      fc.property(moments, fc.integer({ min: 0, max: 10_000 }), (moment, minutes) => {
        const nowMs = moment.planned.goodUntilMs + minutes * minuteMs;
        expect(['miss', 'drop']).toContain(decideDelivery({ ...moment, nowMs }).do);
      }),
      { numRuns: 500 },
    );
  });

  it('a caregiver is told only when it was not begun within the agreed minutes', () => {
    fc.assert(
      fc.property(moments, (moment) => {
        const { kind, slotDueAtMs, forAtMs } = moment.planned;
        fc.pre(kind === 'not-begun');
        const decision = decideDelivery(moment);
        if (decision.do !== 'send') return;
        expect(moment.hasBegun).toBe(false);
        expect(moment.nowMs).toBeGreaterThanOrEqual(forAtMs);
        expect(forAtMs).toBeGreaterThan(slotDueAtMs);
      }),
      { numRuns: 1_000 },
    );
  });
});
