import { code, tests } from '../places.js';
import { type Subject, test } from '../rule.js';

const boundary = (id: string) => test(tests.adviceBoundaries, id);
const properties = test(tests.adviceProperties);
const stepUp = test(tests.advice);
const holds = test(tests.adviceHolds);
const reviews = test(tests.adviceReviews);

/** Changes that a clinician may be advised to make. */
export const advice: Subject = {
  name: 'advice',
  rules: [
    {
      id: 'ADV-1',
      sentence: 'What nobody answered is not taken for good: no step up rests on it.',
      source: 'Our choice.',
      tests: [boundary('ADV-1'), stepUp, properties],
      faults: [
        {
          what: 'one unknown answer is left out',
          file: code.exerciseConditions,
          fragment: 'return known.length === 0 || known.length < values.length ? null : Math.max(...known);',
          planted: 'return known.length === 0 ? null : Math.max(...known);',
          tests: [boundary('ADV-1'), stepUp, properties],
        },
        {
          what: 'an unknown number holds',
          file: code.exerciseConditions,
          fragment: "bound: 'most', holds: found !== null && found <= wanted };",
          planted: "bound: 'most', holds: found === null || found <= wanted };",
        },
        {
          what: 'sessions without answers count',
          file: code.exerciseConditions,
          fragment: "ofAll('answered', look, ({ report }) => report.isAnswered && !report.isContradictory),",
          planted: "ofAll('answered', look, ({ report }) => !report.isContradictory),",
        },
        {
          what: 'answered without saying that there was no sign',
          file: code.reports,
          fragment: 'report.isAnswered = areAllKnown && hasSaidNoSigns && report.tickedAtMs.length === 0;',
          planted: 'report.isAnswered = areAllKnown && report.tickedAtMs.length === 0;',
        },
      ],
    },
    {
      id: 'ADV-2',
      sentence: 'An exercise counts as done when its own end was heard, or all is said to be done.',
      source: 'Our choice.',
      tests: [boundary('ADV-2'), stepUp],
      faults: [
        {
          what: 'nine tenths of the session count for its last exercise',
          file: code.exerciseConditions,
          fragment: 'finishedAtMs !== null || (endsAtMs !== null && reachedMs >= endsAtMs),',
          planted: 'finishedAtMs !== null || reachedMs >= 0,',
        },
        {
          what: 'one millisecond short counts',
          file: code.exerciseConditions,
          fragment: 'finishedAtMs !== null || (endsAtMs !== null && reachedMs >= endsAtMs),',
          planted: 'finishedAtMs !== null || (endsAtMs !== null && reachedMs + 1 >= endsAtMs),',
          tests: [boundary('ADV-2'), stepUp],
        },
        {
          what: 'an easier session counts',
          file: code.exerciseConditions,
          fragment: 'const whole = outcome.listened.filter(isWholeSession);',
          planted: 'const whole = outcome.listened;',
        },
        {
          what: 'who says that less was done counts',
          file: code.exerciseConditions,
          fragment: "if (outcome.kind !== 'done' || saysLess) return false;",
          planted: "if (outcome.kind !== 'done') return false;",
          tests: [boundary('ADV-2'), stepUp],
        },
      ],
    },
    {
      id: 'ADV-3',
      sentence:
        'No step up with a warning sign that is open, younger than 14 days, or answered after the last signature.',
      source: 'Our choice; the days stand in progression.yaml.',
      tests: [boundary('ADV-3'), reviews, properties],
      faults: [
        {
          what: 'open signs are not counted',
          file: code.programReview,
          fragment: 'holds: open === 0,',
          planted: 'holds: open <= 1,',
        },
        {
          what: 'a day too early',
          file: code.programReview,
          fragment: 'holds: days >= signDays,',
          planted: 'holds: days >= signDays - 1,',
        },
        {
          what: 'one of two answers is enough',
          file: code.programReview,
          fragment: 'answered.every((atMs) => atMs <= signedAtMs) ? 1 : 0;',
          planted: 'answered.length === 0 || answered.some((atMs) => atMs <= signedAtMs) ? 1 : 0;',
          tests: [boundary('ADV-3'), reviews],
        },
        {
          what: 'the first sign is taken for the last',
          file: code.programReview,
          fragment: 'const last = signs.at(-1);',
          planted: 'const last = signs.at(0);',
          tests: [boundary('ADV-3'), reviews],
        },
        {
          what: 'a sign that was only ticked is left out',
          file: code.reports,
          fragment: '.flatMap(({ tickedAtMs }) => tickedAtMs)',
          planted: '.flatMap(() => [] as number[])',
        },
        {
          what: 'signs of other programs are left out',
          file: code.advice,
          fragment: 'const signs = signsOf(programs, [...reports.values()].flat());',
          planted: 'const signs = signsOf(programs.slice(0, 1), [...reports.values()].slice(0, 1).flat());',
        },
        {
          what: 'signs in any order',
          file: code.reports,
          fragment: 'return signs.sort((a, b) => a.atMs - b.atMs);',
          planted: 'return signs;',
          tests: [boundary('ADV-3'), reviews],
        },
      ],
    },
    {
      id: 'ADV-4',
      sentence:
        'Pain that is severe once, high on two days, or rises and stays, asks for a look or for less.',
      source: 'Farrar 2001, Pain 94:149, for what counts as a rise; the rest is our choice.',
      tests: [boundary('ADV-4'), holds, reviews, stepUp],
      faults: [
        {
          what: 'severe pain after sessions is left out',
          file: code.painReview,
          fragment: 'Math.max(painBefore ?? 0, painAfter ?? 0) >= severe,',
          planted: '(painBefore ?? 0) >= severe,',
          tests: [boundary('ADV-4'), holds],
        },
        {
          what: 'severe pain has to be more than severe',
          file: code.painReview,
          fragment: 'holds: severest === null || severest < severe,',
          planted: 'holds: severest === null || severest <= severe,',
        },
        {
          what: 'three days in place of two',
          file: code.painReview,
          fragment: 'const most = numbers.flares.value - 1;\n  const condition',
          planted: 'const most = numbers.flares.value;\n  const condition',
        },
        {
          what: 'sessions in place of days',
          file: code.painReview,
          fragment: 'const found = new Set(high.map(({ report }) => report.day)).size;',
          planted: 'const found = high.length;',
          tests: [boundary('ADV-4'), holds],
        },
        {
          what: 'pain of other programs is left out',
          file: code.painReview,
          fragment: '...others.flatMap((other) =>',
          planted: '...others.slice(0, 0).flatMap((other) =>',
        },
        {
          what: 'a rise that stays has to be more than what matters',
          file: code.exerciseConditions,
          fragment: 'return (riseOnDay(report) ?? 0) >= points && stayed;',
          planted: 'return (riseOnDay(report) ?? 0) > points && stayed;',
        },
        {
          what: 'the best of several answers counts',
          file: code.reports,
          fragment:
            'return reported == null ? known : known === null ? reported : Math.max(known, reported);',
          planted: 'return reported == null ? known : known === null ? reported : Math.min(known, reported);',
        },
        {
          what: 'broken off four times in a row',
          file: code.painReview,
          fragment: 'const most = numbers.brokenOff.value - 1;',
          planted: 'const most = numbers.brokenOff.value;',
        },
        {
          what: 'put off in pain on three days',
          file: code.painReview,
          fragment: 'const most = numbers.unwellTimes.value - 1;',
          planted: 'const most = numbers.unwellTimes.value;',
        },
      ],
    },
    {
      id: 'ADV-5',
      sentence: 'At most one step up at a time, and none while anything of the program hurts.',
      source: 'Our choice: a frail body bears the sum.',
      tests: [stepUp, properties, holds],
      faults: [
        {
          what: 'all at once',
          file: code.advice,
          fragment: "if (advice.kind !== 'step-up' || each === chosen) return advice;",
          planted: "if (advice.kind !== 'step-up' || chosen !== undefined) return advice;",
        },
        // Without the second half of the rule nothing changes: pain since the last change of any exercise is also in
        // the sessions since the earlier changes of all others, and prevents a step there too.
        {
          what: 'the one that waited least',
          file: code.advice,
          fragment: 'each.since.sinceVersion < first.since.sinceVersion ? each : first,',
          planted: 'each.since.sinceVersion > first.since.sinceVersion ? each : first,',
        },
        {
          what: 'one condition is enough',
          file: code.advice,
          fragment: 'if (conditions.every(({ holds }) => holds)) {',
          planted: 'if (conditions.some(({ holds }) => holds)) {',
        },
        {
          what: 'with a note that nobody has read',
          file: code.advice,
          fragment: 'return heldByNotes(programAdvice(facts, progression), unreadNotesAtMs.length);',
          planted: 'return heldByNotes(programAdvice(facts, progression), 0 * unreadNotesAtMs.length);',
        },
        {
          what: 'a note takes only the name of the step away',
          file: code.advice,
          fragment: 'return step === each ? each : { ...step, to: null, toName: null };',
          planted: 'return step;',
          tests: [holds],
        },
      ],
    },
    {
      id: 'ADV-6',
      sentence: 'A step stays inside the limits and under every ceiling; up is never less, and down is less.',
      source: 'Our choice.',
      tests: [test(tests.ladder), properties],
      faults: [
        {
          what: 'outside the limits',
          file: code.ladder,
          fragment: '(value >= range.min && value <= range.max);',
          planted: '(value >= range.min && value <= 2 * range.max);',
        },
        {
          what: 'above a ceiling',
          file: code.ladder,
          fragment: 'next: limits.length === 0 ? next : null,',
          planted: 'next,',
        },
        {
          what: 'two steps at once',
          file: code.ladder,
          fragment: "if (place.kind === 'on') return place.rung + 1;",
          planted: "if (place.kind === 'on') return place.rung + 2;",
        },
        {
          what: 'down by two',
          file: code.ladder,
          fragment: "if (place.kind === 'on') return place.rung - 1;",
          planted: "if (place.kind === 'on') return place.rung - 2;",
        },
        {
          what: 'a step down that changes nothing',
          file: code.ladder,
          fragment: '([key, value]) => value < (now[key] ?? value),',
          planted: '([key, value]) => value <= (now[key] ?? value),',
        },
      ],
    },
    {
      id: 'ADV-7',
      sentence: 'Accepting signs exactly what was shown, once, and not what has changed since.',
      source: 'Our choice: no dose moves without a sign-off.',
      tests: [test(tests.adviceRules, 'ADV-7')],
      faults: [
        {
          what: 'another exercise changes too',
          file: code.adviceCommands,
          fragment: 'index === exerciseIndex ? { ...entry,',
          planted: 'index >= exerciseIndex ? { ...entry,',
        },
        {
          what: 'what has changed since is signed',
          file: code.adviceCommands,
          fragment: 'if (advice === undefined || advice.key !== named.key) throw changed();',
          planted: 'if (advice === undefined) throw changed();',
        },
        {
          what: 'a sign that came meanwhile is overlooked',
          file: code.adviceCommands,
          fragment: 'if ((await locked.openWarningSince()) !== null) throw changed();',
          planted: '',
        },
        {
          what: 'her unsigned work is thrown away',
          file: code.adviceCommands,
          fragment: "    requireNone(draft);\n    const answer = { answer: 'accepted'",
          planted: "    const answer = { answer: 'accepted'",
        },
      ],
    },
    {
      id: 'ADV-8',
      sentence: 'Who did too little, or took a long break, is not advised up.',
      source: 'B3E trial: 60 % of sessions as its aim; Wilson 1927 for the interval.',
      tests: [boundary('ADV-8'), stepUp, reviews],
      faults: [
        {
          what: 'a week at the dose is counted a day short',
          file: code.exerciseConditions,
          fragment: "atLeast('days', daysAtDose(own, facts), rule.leastDays.value),",
          planted: "atLeast('days', daysAtDose(own, facts) + 1, rule.leastDays.value),",
        },
        {
          what: 'gaps do not count up to today',
          file: code.exerciseConditions,
          fragment: 'const days = [...look.map(({ report }) => dayNumber(report.day)), today];',
          planted:
            'const days = look.map(({ report }) => dayNumber(report.day));\n  if (days.length === 1) return today - today;',
          tests: [boundary('ADV-8'), stepUp],
        },
        {
          what: 'the lower end of the interval speaks against somebody',
          file: code.programReview,
          fragment: 'holds: share.high >= wanted,',
          planted: 'holds: share.low >= wanted,',
        },
      ],
    },
  ],
};
