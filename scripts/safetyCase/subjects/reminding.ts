import { code, tests } from '../places.js';
import { type Subject, test } from '../rule.js';

/** Whether, when and to whom a reminder goes. */
export const reminding: Subject = {
  name: 'reminding',
  rules: [
    {
      id: 'R1',
      sentence:
        'A due time is wall-clock time in the patient’s zone: in a spring gap the first instant after it, in an autumn overlap the first of the two.',
      source: 'Our rule; RFC 5545, section 3.3.5, puts a time in the gap at the offset before it.',
      tests: [test(tests.wallClock), test(tests.slots)],
      faults: [
        {
          what: 'half an hour late after a gap',
          file: code.wallClock,
          fragment: 'leapMs = endsMs;',
          planted: 'leapMs = endsMs + 1_800_000;',
        },
        {
          what: 'the second of two',
          file: code.wallClock,
          fragment: 'return showing[0] ?? leapMs;',
          planted: 'return showing.at(-1) ?? leapMs;',
        },
        {
          what: 'the offset that holds now in place of the one that holds then',
          file: code.wallClock,
          fragment: 'if (offsetMs !== null) return localMs - offsetMs;',
          planted: 'if (offsetMs !== null) return localMs - (steadyOffsetAt(0, zone) ?? 0);',
        },
        {
          what: 'the instant of the change belongs to the time before it',
          file: code.wallClock,
          fragment: 'if (atMs >= beginsMs && atMs < endsMs) showing.push(atMs);',
          planted: 'if (atMs > beginsMs && atMs <= endsMs) showing.push(atMs);',
        },
      ],
    },
    {
      id: 'R2',
      sentence:
        'A reminder is sent by the one process that holds it, while it surely holds it; what was recorded is not repeated.',
      source: 'Our choice.',
      tests: [test(tests.claims), test(tests.lease), test(tests.slowMail)],
      faults: [
        {
          what: 'a process settles what another one holds',
          file: code.deliveries,
          fragment:
            "      .where('leaseOwner', '=', owner)\n      .where('state', '=', 'sending')\n      .executeTakeFirst();\n    count",
          planted: "      .where('state', '=', 'sending')\n      .executeTakeFirst();\n    count",
        },
        {
          what: 'what was settled is settled again',
          file: code.deliveries,
          fragment:
            "      .where('leaseOwner', '=', owner)\n      .where('state', '=', 'sending')\n      .executeTakeFirst();\n    count",
          planted: "      .where('leaseOwner', 'is not', null)\n      .executeTakeFirst();\n    count",
        },
        {
          what: 'sent up to the end of the lease',
          file: code.sender,
          fragment: 'performance.now() + this.#times.handingMs > leaseUntilMs;',
          planted: 'performance.now() > leaseUntilMs;',
          tests: [test(tests.lease)],
        },
        {
          what: 'claimed before its time',
          file: code.deliveries,
          fragment: "    .where('nextAtMs', '<=', nowMs)\n",
          planted: '',
          tests: [test(tests.claims)],
        },
        {
          what: 'a lease of no time',
          file: code.deliveries,
          fragment: '      nextAtMs: nowMs + leaseMs,\n',
          planted: '      nextAtMs: nowMs,\n',
        },
        {
          what: 'what this process is sending is claimed anew',
          file: code.deliveries,
          fragment: "if (except.length > 0) due = due.where('id', 'not in', except);",
          planted: '',
        },
        {
          what: 'a reminder that may have arrived is sent again, and a warning is not',
          tests: [test(tests.slowMail)],
          file: code.chooseDelivery,
          fragment: 'if (claimed.why === unansweredWhy && !isTwiceBetter(claimed)) return',
          planted: 'if (claimed.why === unansweredWhy && isTwiceBetter(claimed)) return',
        },
      ],
    },
    {
      id: 'R3',
      sentence:
        'Consent, addresses, pauses, ends, breaks and quiet hours are asked at the moment of sending.',
      source: 'Our choice; the quiet hours are agreed with the patient.',
      tests: [test(tests.sending), test(tests.scheduleReminders)],
      faults: [
        ...[
          { what: 'without consent', fragment: "if (!moment.hasConsent) return 'no-consent';" },
          { what: 'to an address that is no more', fragment: "if (!moment.hasAddress) return 'no-address';" },
          { what: 'of a session that was begun', fragment: "if (moment.hasBegun) return 'begun';" },
          { what: 'of a session that was put off', fragment: "if (moment.isPutOff) return 'put-off';" },
        ].map(({ what, fragment }) => ({ what: `sent ${what}`, file: code.sending, fragment, planted: '' })),
        {
          what: 'sent in a week that is done',
          file: code.sending,
          fragment: "return moment.isWeekDone ? 'week-done' : null;",
          planted: 'return null;',
        },
        {
          what: 'sent in quiet hours',
          file: code.reminders,
          fragment: 'return isOverMidnight ? time >= quietFrom || time < quietUntil :',
          planted: 'return isOverMidnight ? time > quietFrom || time < quietUntil :',
        },
        {
          what: 'quiet hours end at midnight',
          file: code.reminders,
          fragment: 'return isOverMidnight ? time >= quietFrom || time < quietUntil :',
          planted: "return isOverMidnight ? time >= quietFrom || time < '00:00' :",
        },
        {
          what: 'sent into the evening after a wait',
          file: code.sending,
          fragment: 'delayPastQuietHours(Math.max(nowMs, wantedAtMs), moment.rules, moment.zone);',
          planted: 'Math.max(nowMs, wantedAtMs);',
        },
        {
          what: 'sent without a number to call',
          file: code.sending,
          fragment: "if (!moment.hasClinicNumber) return { do: 'miss', why: 'no-clinic-number' };",
          planted: '',
        },
        {
          what: 'sent of a paused program',
          file: code.deliveryContext,
          fragment: "if (program?.state !== 'active' || notPlayed.has(prescriptionId)) return null;",
          planted: 'if (program === undefined || notPlayed.has(prescriptionId)) return null;',
          tests: [test(tests.reminders, 'rest in quiet hours')],
        },
        {
          what: 'sent of a program that cannot be played',
          file: code.deliveryContext,
          fragment: "if (program?.state !== 'active' || notPlayed.has(prescriptionId)) return null;",
          planted: "if (program?.state !== 'active') return null;",
          tests: [test(tests.reminders, 'are held back for a program')],
        },
        {
          what: 'consent that was taken back counts',
          file: code.sendingPeople,
          fragment: 'else given.delete(key);',
          planted: '',
          tests: [test(tests.reminders, 'are not sent without consent')],
        },
        {
          what: 'the last day of a break is none of it',
          file: code.slots,
          fragment: '(untilDay === null || day <= untilDay)',
          planted: '(untilDay === null || day < untilDay)',
          tests: [test(tests.slots)],
        },
        {
          what: 'a day after the end',
          file: code.slots,
          fragment: 'const isTooLate = endsOn !== null && day > endsOn;',
          planted: 'const isTooLate = endsOn !== null && day > endsOn && day === endsOn;',
          tests: [test(tests.slots)],
        },
      ],
    },
    {
      id: 'R4',
      sentence: 'Late within the grace time it is sent and says so; after it, it is recorded as missed.',
      source: 'Our choice.',
      tests: [test(tests.sending), test(tests.retries)],
      faults: [
        {
          what: 'sent at the end of its time',
          file: code.sending,
          fragment: "if (nowMs >= planned.goodUntilMs) return { do: 'miss',",
          planted: "if (nowMs > planned.goodUntilMs) return { do: 'miss',",
        },
        {
          what: 'late is not said',
          file: code.sending,
          fragment: 'const lateAfterMs = 5 * 60_000;',
          planted: 'const lateAfterMs = 6 * 60_000;',
        },
        {
          what: 'good for a minute more',
          file: code.reminders,
          fragment: 'const goodUntilMs = forAtMs + rules.graceMinutes * minuteMs;',
          planted: 'const goodUntilMs = forAtMs + (rules.graceMinutes + 1) * minuteMs;',
          tests: [test(tests.scheduleReminders)],
        },
        {
          what: 'tried again after its time',
          file: code.retries,
          fragment: 'return nextMs < goodUntilMs ? nextMs : null;',
          planted: 'return nextMs <= goodUntilMs + 60_000 ? nextMs : null;',
          tests: [test(tests.retries)],
        },
      ],
    },
    {
      id: 'R5',
      sentence:
        'A caregiver hears that a session was not begun only where that was agreed, and not before the agreed time.',
      source: 'Our choice.',
      tests: [test(tests.sending), test(tests.reminders, 'tell the caregiver')],
      faults: [
        {
          what: 'before the patient has known for the agreed time',
          file: code.sending,
          fragment: 'return Math.max(earliestMs, knownAtMs + (caregiverAfterMinutes ?? 0) * 60_000);',
          planted: 'return Math.max(earliestMs, knownAtMs);',
        },
        {
          what: 'while the patient’s own reminder is on its way',
          file: code.sending,
          fragment: "if (ownReminder?.state === 'open') return Math.max(earliestMs, nowMs + askAgainMs);",
          planted: '',
        },
        {
          what: 'while the patient still rests',
          file: code.sending,
          fragment: 'const opensAtMs = Math.max(planned.slotDueAtMs, restedAtMs);',
          planted: 'const opensAtMs = planned.slotDueAtMs;',
        },
        {
          what: 'who is reminded is told too',
          file: code.recipients,
          fragment: "return kind === 'due' ? recipient.isReminded : recipient.toldNotBegun;",
          planted: 'return recipient.isReminded || recipient.toldNotBegun;',
          tests: [test(tests.recipients), test(tests.reminders, 'tell the caregiver')],
        },
        {
          what: 'the patient is told of not having begun',
          file: code.recipients,
          fragment: "if (recipient.isPatient) return kind === 'due' && recipient.isReminded;",
          planted: 'if (recipient.isPatient) return recipient.isReminded;',
          tests: [test(tests.recipients), test(tests.reminders, 'tell the caregiver')],
        },
      ],
    },
    {
      id: 'R6',
      sentence:
        'At most one session is for now, and the next one opens three hours after the last one ended.',
      source: 'Our choice, no source.',
      tests: [test(tests.plannedStates)],
      faults: [
        {
          what: 'no rest between two',
          file: code.plannedStates,
          fragment: 'Math.min(each.closesAtMs, Math.max(each.opensAtMs, restedMs));',
          planted: 'each.opensAtMs;',
        },
        {
          what: 'two hours of rest',
          file: code.plannedStates,
          fragment: 'export const restMs = 3 * 3_600_000;',
          planted: 'export const restMs = 2 * 3_600_000;',
        },
        {
          what: 'two are for now',
          file: code.plannedStates,
          fragment: 'closesAtMs: opensAtMs[index + 1] ?? endMs,',
          planted: 'closesAtMs: endMs,',
        },
        {
          what: 'what was put off in pain is asked for again that day',
          file: code.plannedStates,
          fragment: 'const isPutOff = notToday.has(slot) || notToday.has(dayOfSlot(slot));',
          planted: 'const isPutOff = notToday.has(slot);',
        },
        {
          what: 'a day more than prescribed',
          file: code.plannedStates,
          fragment: 'return daysAWeek < 7 && otherDaysDone({ heard }, day, day) >= daysAWeek;',
          planted: 'return daysAWeek < 7 && otherDaysDone({ heard }, day, day) > daysAWeek;',
        },
      ],
    },
  ],
};
