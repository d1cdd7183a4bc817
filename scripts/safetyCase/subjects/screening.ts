import { code, tests } from '../places.js';
import { type Subject, test } from '../rule.js';

/** The interview about precautions, and what follows from it. */
export const screening: Subject = {
  name: 'screening',
  rules: [
    {
      id: 'SCREEN-1',
      sentence: 'An answer that nobody is sure of counts as a yes.',
      source: 'Our choice: what is not known is not taken as good.',
      tests: [test(tests.interview, 'answers and rules')],
      faults: [
        {
          what: 'unsure counts as a no',
          file: code.answers,
          fragment: "['yes', 'unsure'].includes(answers[id]?.answer ?? 'no')",
          planted: "['yes'].includes(answers[id]?.answer ?? 'no')",
        },
      ],
    },
    {
      id: 'SCREEN-2',
      sentence: 'A question that was not asked, or has come to mean more, is open.',
      source: 'Our choice: “no” to the narrower question says nothing about the wider one.',
      tests: [test(tests.interview, 'answers and rules')],
      faults: [
        {
          what: 'an earlier name counts as the same question',
          file: code.answers,
          fragment: 'return answer === undefined || (answer.asked ?? name) !== name;',
          planted: 'return answer === undefined;',
        },
        {
          what: 'what was never asked counts as answered',
          file: code.answers,
          fragment: 'return answer === undefined || (answer.asked ?? name) !== name;',
          planted: 'return answer !== undefined && (answer.asked ?? name) !== name;',
        },
      ],
    },
    {
      id: 'SCREEN-3',
      sentence: 'An interview holds for 90 days; then everything is asked again.',
      source: 'Our choice, no source.',
      tests: [test(tests.screeningRules, 'SCREEN-3')],
      faults: [
        {
          what: '91 days',
          file: code.takenScreening,
          fragment: 'const holdsForMs = 90 * dayMs;',
          planted: 'const holdsForMs = 91 * dayMs;',
        },
        {
          what: '89 days',
          file: code.takenScreening,
          fragment: 'const holdsForMs = 90 * dayMs;',
          planted: 'const holdsForMs = 89 * dayMs;',
        },
        {
          what: 'an old interview leaves nothing open',
          file: code.takenScreening,
          fragment: 'const open = isTooOld(screening, nowMs) ? interview.precautions : unanswered(',
          planted: 'const open = isTooOld(screening, nowMs) ? [] : unanswered(',
        },
      ],
    },
    {
      id: 'SCREEN-4',
      sentence: 'An interview is as old as its oldest answer.',
      source: 'Our choice.',
      tests: [test(tests.interview, 'SCREEN-4'), test(tests.screeningRules, 'SCREEN-4')],
      faults: [
        {
          what: 'the newest answer counts',
          file: code.answers,
          fragment: 'return Math.min(takenAtMs, ...Object.values(answers)',
          planted: 'return Math.max(takenAtMs, ...Object.values(answers)',
        },
        {
          what: 'answers that are carried over become new',
          file: code.answers,
          fragment: '{ ...answer, askedAtMs: answer.askedAtMs ?? takenAtMs },',
          planted: '{ ...answer },',
        },
        {
          what: 'answers that are carried over twice become newer',
          file: code.answers,
          fragment: '{ ...answer, askedAtMs: answer.askedAtMs ?? takenAtMs },',
          planted: '{ ...answer, askedAtMs: takenAtMs },',
        },
        {
          what: 'whoever sends answers says when they were given',
          file: code.screening,
          fragment: 'Object.entries(answers).map(([id, { answer, details }]) => [id, { answer, details }]),',
          planted: 'Object.entries(answers),',
        },
      ],
    },
    {
      id: 'SCREEN-5',
      sentence: 'A rule that meets an exercise by load or name is found; what stops comes first.',
      source: 'The sources that precautions.yaml names, rule by rule.',
      tests: [test(tests.interview, 'answers and rules'), test(tests.matrix)],
      faults: [
        {
          what: 'only the first exercise that a rule meets',
          file: code.findings,
          fragment:
            'const met = exercises.filter((exercise) => meets(rule, exercise)).map((exercise) => exercise.id);',
          planted:
            'const met = exercises.filter((exercise) => meets(rule, exercise)).map((exercise) => exercise.id).slice(0, 0);',
        },
        {
          what: 'all loads of a rule are needed',
          file: code.findings,
          fragment: 'exercise.loadTags.some((tag) => rule.loads.includes(tag))',
          planted: '(rule.loads.length > 0 && rule.loads.every((tag) => exercise.loadTags.includes(tag)))',
        },
        {
          what: 'exceptions are forgotten',
          file: code.findings,
          fragment: 'if (rule.except.includes(exercise.id)) return false;',
          planted: '',
        },
        {
          what: 'what stops comes last',
          file: code.findings,
          fragment:
            'return [...ordered.filter(({ rule }) => rule.stop), ...ordered.filter(({ rule }) => !rule.stop)];',
          planted:
            'return [...ordered.filter(({ rule }) => !rule.stop), ...ordered.filter(({ rule }) => rule.stop)];',
        },
      ],
    },
    {
      id: 'SCREEN-6',
      sentence:
        'A settlement holds for the exercises and the answer for which it was made; what stops is never settled.',
      source: 'Our choice.',
      tests: [test(tests.interview, 'a finding')],
      faults: [
        {
          what: 'one exercise settles all',
          file: code.settlements,
          fragment: 'if (!exercises.every((id) => settlement.exercises.includes(id))) return false;',
          planted: 'if (!exercises.some((id) => settlement.exercises.includes(id))) return false;',
        },
        {
          what: 'another answer stays settled',
          file: code.settlements,
          fragment: 'rule.stop || settlement.answered !== answered) return false;',
          planted: 'rule.stop) return false;',
        },
        {
          what: 'a reason settles what stops',
          file: code.settlements,
          fragment: 'rule.stop || settlement.answered !== answered) return false;',
          planted: 'settlement.answered !== answered) return false;',
        },
        {
          what: 'a reason of spaces settles',
          file: code.settlements,
          fragment: 'if (hasText(settlement.reason)) return true;',
          planted: "if (settlement.reason !== '') return true;",
        },
        {
          what: 'being arranged settles what needs clearance',
          file: code.settlements,
          fragment: "if (rule.measure === 'change') return settlement.isArranged;",
          planted: 'if (settlement.isArranged) return true;',
        },
      ],
    },
    {
      id: 'SCREEN-7',
      sentence: 'A clearance holds from its day for a year, and names who gave it.',
      source: 'Our choice, no source.',
      tests: [test(tests.interview, 'a finding')],
      faults: [
        {
          what: 'for two years',
          file: code.settlements,
          fragment: 'Number(today.slice(0, 4)) - 1}',
          planted: 'Number(today.slice(0, 4)) - 2}',
        },
        {
          what: 'from a day to come',
          file: code.settlements,
          fragment: 'clearedOn <= today\n',
          planted: "clearedOn <= '9999-12-31'\n",
        },
        {
          what: 'a day short of a year',
          file: code.settlements,
          fragment: 'clearedOn >= aYearBefore(today) &&',
          planted: 'clearedOn > aYearBefore(today) &&',
        },
        {
          what: 'nobody gave it',
          file: code.settlements,
          fragment: '    hasText(clearedBy) &&\n',
          planted: '',
        },
      ],
    },
    {
      id: 'SCREEN-8',
      sentence: 'An interview that holds everything back pauses the programs that run.',
      source: 'Our choice.',
      tests: [test(tests.screeningRules, 'SCREEN-8')],
      faults: [
        {
          what: 'clearance for everything does not pause',
          file: code.screening,
          fragment: "({ rule }) => rule.everything && rule.measure !== 'change',",
          planted: "({ rule }) => rule.everything && rule.measure === 'leave-out',",
        },
        {
          what: 'a change for everything pauses too',
          file: code.screening,
          fragment: "({ rule }) => rule.everything && rule.measure !== 'change',",
          planted: '({ rule }) => rule.everything,',
        },
        {
          what: 'nothing is paused',
          file: code.screening,
          fragment: 'await pauseWhatWaits(db, workshop, actor, { chart, answers: all });',
          planted: '',
        },
      ],
    },
    {
      id: 'SCREEN-9',
      sentence:
        'After a stay in the hospital nothing is signed, resumed or added on an interview from before it.',
      source: 'Our choice: what was cut, lifted or prescribed there can change everything.',
      tests: [test(tests.screeningRules, 'SCREEN-9')],
      faults: [
        {
          what: 'other breaks count, and stays do not',
          file: code.chart,
          fragment: "kind === 'hospital' && fromDay <= today",
          planted: "kind !== 'hospital' && fromDay <= today",
        },
        {
          what: 'a stay that begins today does not count',
          file: code.chart,
          fragment: 'fromDay <= today && createdAtMs > screenedAtMs,',
          planted: 'fromDay < today && createdAtMs > screenedAtMs,',
        },
        {
          what: 'a stay before the interview counts for ever',
          file: code.chart,
          fragment: 'fromDay <= today && createdAtMs > screenedAtMs,',
          planted: 'fromDay <= today,',
        },
        {
          what: 'signing does not ask',
          file: code.signing,
          fragment: 'await requireScreenedSince(locked, since);',
          planted: '',
        },
        {
          what: 'resuming does not ask',
          file: code.prescriptionCommands,
          fragment: 'await requireScreenedSince(locked, since);',
          planted: '',
        },
        {
          what: 'adding does not ask',
          file: code.screening,
          fragment: 'await requireScreenedSince(chart, since);',
          planted: '',
        },
      ],
    },
    {
      id: 'SCREEN-10',
      sentence: 'What stops is asked by itself, and only what lasts is confirmed in place of being asked.',
      source: 'Our choice.',
      tests: [test(tests.screeningRules, 'SCREEN-10')],
      faults: [
        {
          what: 'No to the rest answers what stops',
          file: code.combinedAnswers,
          fragment: '!isAskedAlone(question) && !toConfirm.has(question.id) && draft',
          planted: '!toConfirm.has(question.id) && draft',
        },
        {
          what: 'what was unsure is confirmed',
          file: code.combinedAnswers,
          fragment: "['yes', 'no'].includes(last.answers[id]?.answer ?? '')",
          planted: "['yes', 'no', 'unsure'].includes(last.answers[id]?.answer ?? '')",
        },
        {
          what: 'answers from before the hospital are confirmed',
          file: code.combinedAnswers,
          fragment: 'last === null || hasBeenInHospital || isTooOld(last, nowMs)',
          planted: 'last === null || isTooOld(last, nowMs)',
        },
        {
          what: 'answers of long ago are confirmed',
          file: code.combinedAnswers,
          fragment: 'last === null || hasBeenInHospital || isTooOld(last, nowMs)',
          planted: 'last === null || hasBeenInHospital',
        },
      ],
    },
    {
      id: 'SCREEN-11',
      sentence: 'Nothing is saved while a question is open, unless something stops everything.',
      source: 'Our choice.',
      tests: [test(tests.screeningRules, 'SCREEN-11')],
      faults: [
        {
          what: 'open questions are let through',
          file: code.screening,
          fragment: 'const open = stops ? [] : unanswered(all, interview);',
          planted: 'const open = stops || given !== all ? [] : unanswered(all, interview);',
        },
        {
          what: 'an addition may leave urgent questions open',
          file: code.screening,
          fragment: 'open.filter((each) => !isAddition || isUrgent(each)),',
          planted: 'open.filter(() => !isAddition),',
        },
        {
          what: 'an addition to an interview that is too old',
          file: code.screening,
          fragment: 'if (before === null || isTooOld(before, actor.nowMs)) {',
          planted: 'if (before === null) {',
        },
      ],
    },
  ],
};
