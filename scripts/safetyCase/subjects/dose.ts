import { code, tests } from '../places.js';
import { type Subject, test } from '../rule.js';

/** How precautions and easier sessions change a dose. */
export const dose: Subject = {
  name: 'dose',
  rules: [
    {
      id: 'DOSE-1',
      sentence: 'A precaution brings a dose down to the lowest ceiling, never up, never below the limits.',
      source: 'Our choice.',
      tests: [test(tests.adapt)],
      faults: [
        {
          what: 'the highest ceiling',
          file: code.adapt,
          fragment: 'return ceilings.length === 0 ? null : Math.min(...ceilings);',
          planted: 'return ceilings.length === 0 ? null : Math.max(...ceilings);',
        },
        {
          what: 'a dose grows to its ceiling',
          file: code.adapt,
          fragment: '[key, ceiling === null ? value : Math.min(value, Math.max(least, ceiling))];',
          planted: '[key, ceiling === null ? value : Math.max(least, ceiling)];',
        },
        {
          what: 'below the limits of the exercise',
          file: code.adapt,
          fragment: '[key, ceiling === null ? value : Math.min(value, Math.max(least, ceiling))];',
          planted: '[key, ceiling === null ? value : Math.min(value, ceiling, least + value)];',
        },
      ],
    },
    {
      id: 'DOSE-2',
      sentence: 'Of several set-ups the most protective is used, and a raised head end stays up.',
      source: 'Our choice, no source.',
      tests: [test(tests.adapt)],
      faults: [
        {
          what: 'the least protective',
          file: code.adapt,
          fragment: 'byProtection[key].findLast(',
          planted: 'byProtection[key].find(',
        },
        {
          what: 'a raised head end is lowered',
          file: code.adapt,
          fragment: "written.headSupport === 'raised-head-end'\n",
          planted: "written.headSupport === 'none'\n",
        },
      ],
    },
    {
      id: 'DOSE-3',
      sentence: 'What an exercise cannot be brought down to stands against signing.',
      source: 'Our choice.',
      tests: [test(tests.adapt), test(tests.signingRules, 'DOSE-3')],
      faults: [
        {
          what: 'an unmet ceiling is not told',
          file: code.adaptationEffects,
          fragment: '.filter(({ to, ceiling }) => to > ceiling)',
          planted: '.filter(({ to, ceiling }) => to > ceiling + 1)',
        },
        {
          what: 'straight legs under what asks for bent knees are not told',
          file: code.adaptationEffects,
          fragment: "if (requested === undefined || requested === 'straight') return [];",
          planted: "if (requested === undefined || requested !== 'straight') return [];",
        },
        {
          what: 'signing does not look at ceilings',
          file: code.signing,
          fragment: '...unmetCeilings(read.program).map(ceilingRefusal),',
          planted: '',
        },
        {
          what: 'signing does not look at knees',
          file: code.signing,
          fragment: '...unmetKnees(read.program).map(kneesRefusal),',
          planted: '',
        },
      ],
    },
    {
      id: 'DOSE-4',
      sentence: 'A lighter session asks for no more of anything, and keeps the limits.',
      source: 'Our choice, no source.',
      tests: [test(tests.easier)],
      faults: [
        {
          what: 'more than prescribed',
          file: code.easier,
          fragment: 'return Math.min(most, Math.max(least, value));',
          planted: 'return Math.max(least, value + 1);',
        },
        {
          what: 'an eighth of the work',
          file: code.easier,
          fragment: 'const half = Math.ceil((sets * reps) / 2);',
          planted: 'const half = Math.ceil((sets * reps) / 4);',
        },
        {
          what: 'a longer budget counts as a shorter session',
          file: code.easier,
          fragment: 'if (timeBudgetMinutes !== undefined && timeBudgetMinutes <= minutes) return null;',
          planted: '',
        },
      ],
    },
    {
      id: 'DOSE-5',
      sentence: 'A version that asks for more than the one before is known as such.',
      source: 'Our choice.',
      tests: [test(tests.stepsUp)],
      faults: [
        {
          what: 'less rest is no more',
          file: code.stepsUp,
          fragment: '...lessIsMore.filter((key) => isMore(key, -1)),',
          planted: '...lessIsMore.filter((key) => isMore(key, 1)),',
        },
        {
          what: 'another exercise is no more',
          file: code.stepsUp,
          fragment: 'return then === undefined ? [name] :',
          planted: 'return then === undefined ? [] :',
        },
        {
          what: 'more sessions a week are no more',
          file: code.stepsUp,
          fragment: 'sessionsAWeek(after) > sessionsAWeek(before);',
          planted: 'sessionsAWeek(after) < sessionsAWeek(before);',
        },
        {
          what: 'a second side is no more',
          file: code.stepsUp,
          fragment: "return side === 'both' || side === 'alternate' ? 2 : 1;",
          planted: "return side === 'both' ? 2 : 1;",
        },
        {
          what: 'a longer budget is no more',
          file: code.stepsUp,
          fragment: 'minutesOf(after) > minutesOf(before);',
          planted: 'false;',
        },
        {
          what: 'a longer hold is no more',
          file: code.stepsUp,
          fragment: "'reps', 'holdSeconds', 'liftSeconds',",
          planted: "'reps', 'liftSeconds',",
        },
      ],
    },
  ],
};
