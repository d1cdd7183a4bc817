import { code, tests } from '../places.js';
import { onSqlite, type Subject, test } from '../rule.js';

/** The conditions between a draft and a signed dose. */
export const signing: Subject = {
  name: 'signing',
  rules: [
    {
      id: 'SIGN-1',
      sentence: 'Nothing is signed, resumed, paused or ended without a reason in words.',
      source: 'Our choice.',
      tests: [test(tests.signingRules, 'SIGN-1')],
      faults: [
        {
          what: 'no reason is asked for',
          file: code.signing,
          fragment: '...(reasonSchema.safeParse(reason).success ?',
          planted: '...(reasonSchema.safeParse(reason) !== undefined ?',
        },
        {
          what: 'resumed without a reason',
          file: code.prescriptionCommands,
          fragment: 'parseForm(z.object({ reason: reasonSchema }), { reason });\n  const step',
          planted: 'const step',
        },
      ],
    },
    {
      id: 'SIGN-2',
      sentence: 'Nobody is prescribed for who was not screened, or whose screening leaves a question open.',
      source: 'Our choice.',
      tests: [test(tests.signingRules, 'SIGN-2')],
      faults: [
        {
          what: 'open questions do not stand against it',
          file: code.signing,
          fragment: "...open.map((name) => ({ code: 'question-not-asked'",
          planted: "...open.slice(0, 0).map((name) => ({ code: 'question-not-asked'",
        },
        {
          what: 'resumed with open questions',
          file: code.prescriptionCommands,
          fragment: 'if (screening === null || openQuestions(screening, workshop, actor.nowMs).length > 0) {',
          planted: 'if (screening === null) {',
        },
      ],
    },
    {
      id: 'SIGN-3',
      sentence: 'What was screened meanwhile is looked at before anything is signed.',
      source: 'Our choice.',
      tests: [test(tests.signingRules, 'SIGN-3')],
      faults: [
        {
          what: 'an older interview is signed on',
          file: code.signing,
          fragment: 'if ((await locked.screening())?.id !== screening.id) {',
          planted: 'if ((await locked.screening()) === null) {',
        },
      ],
    },
    {
      id: 'SIGN-4',
      sentence: 'Every precaution that meets an exercise is settled first, for signing and for resuming.',
      source: 'Our choice.',
      tests: [test(tests.signingRules, 'SIGN-4')],
      faults: [
        {
          what: 'what is not settled does not stand against it',
          file: code.signing,
          fragment: '...findings.map(({ precaution, rule }) => ({',
          planted: '...findings.slice(0, 0).map(({ precaution, rule }) => ({',
        },
        {
          what: 'only the first finding is told',
          file: code.signing,
          fragment: '...findings.map(({ precaution, rule }) => ({',
          planted: '...findings.slice(0, 1).map(({ precaution, rule }) => ({',
        },
        {
          what: 'resumed with open precautions',
          file: code.prescriptionCommands,
          fragment: 'if (open === 0) return;',
          planted: 'if (open >= 0) return;',
        },
      ],
    },
    {
      id: 'SIGN-5',
      sentence: 'Nothing that asks for more is signed while a warning sign is open or a note unread.',
      source: 'Our choice.',
      tests: [test(tests.signingRules, 'SIGN-5')],
      faults: [
        {
          what: 'an open sign does not hold',
          file: code.unanswered,
          fragment: 'return [...(isWarned ? [warned] : []),',
          planted: 'return [...(isWarned ? [] : []),',
        },
        {
          what: 'an unread note does not hold',
          file: code.unanswered,
          fragment: '...(unreadNotes > 0 ? [unread] : [])];',
          planted: '...(unreadNotes > 1 ? [unread] : [])];',
        },
        {
          what: 'less is held too',
          file: code.unanswered,
          fragment: 'if (more.length === 0) return [];',
          planted: '',
        },
        {
          what: 'notes are not looked at',
          file: code.signing,
          fragment: 'if (isWarned || unanswered.unreadNotes > 0) {',
          planted: 'if (isWarned) {',
        },
        {
          what: 'it is found and signed all the same',
          file: code.signing,
          fragment: 'if (held.length > 0) return',
          planted: 'if (held.length > 2) return',
        },
      ],
    },
    {
      id: 'SIGN-6',
      sentence: 'The same work that is sent twice is signed once.',
      source: 'Our choice.',
      tests: [test(tests.signingRules, 'SIGN-6'), test(tests.screening, 'new work')],
      faults: [
        {
          what: 'signed twice',
          file: code.signing,
          fragment: 'if (earlier !== null) {',
          planted: 'if (earlier !== null && work.prescriptionId !== null) {',
        },
        {
          what: 'another reason counts as the same',
          file: code.signing,
          fragment: '    newest.reason === signing.reason &&\n',
          planted: '',
        },
        {
          what: 'another dose counts as the same',
          file: code.signing,
          fragment: '    newest.content === signing.content &&\n',
          planted: '',
        },
        {
          what: 'somebody else’s signature counts as hers',
          file: code.signing,
          fragment: '    newest.signedBy === signing.signedBy &&\n',
          planted: '',
        },
      ],
    },
    {
      id: 'SIGN-7',
      sentence: 'A version is signed on the newest one alone, and nothing on what has ended or is damaged.',
      source: 'Our choice.',
      tests: [
        onSqlite(tests.contract),
        test(tests.signed, 'a signed program of which something was damaged'),
      ],
      faults: [
        {
          what: 'over a newer version',
          file: code.prescriptions,
          fragment: "    .where('newestVersion', '=', basedOnNumber)\n",
          planted: '',
        },
        {
          what: 'on what has ended',
          file: code.prescriptions,
          fragment: "    .where('state', '!=', 'ended')\n",
          planted: '',
        },
        {
          what: 'on what is damaged',
          file: code.prescriptions,
          fragment: 'if (before === undefined || !isWholeProgram(before)) return null;',
          planted: 'if (before === undefined) return null;',
        },
        {
          what: 'what has ended is resumed',
          file: code.prescriptions,
          fragment: "changing.where('state', 'not in', ['ended', change.state])",
          planted: "changing.where('state', 'not in', [change.state])",
        },
        {
          what: 'what is damaged is resumed',
          file: code.prescriptions,
          fragment: "if (!isWhole && change.state === 'active') return false;",
          planted: '',
        },
      ],
    },
    {
      id: 'SIGN-8',
      sentence: 'Other programs resume nothing and answer no warning sign; a clinician does, on a page.',
      source: 'Our choice: a dose moves only with a clinician’s sign-off, given by herself.',
      tests: [test(tests.signingRules, 'SIGN-8')],
      faults: [
        {
          what: 'a key resumes',
          file: code.prescriptionCommands,
          fragment: 'if (actor.accessKeyId !== null) throw',
          planted: "if (actor.accessKeyId === 'none') throw",
        },
        {
          what: 'a key answers a warning sign',
          file: code.warnings,
          fragment: 'if (actor.accessKeyId !== null) throw',
          planted: "if (actor.accessKeyId === 'none') throw",
        },
      ],
    },
    {
      id: 'SIGN-9',
      sentence: 'What was settled is kept with its rule as it reads on the day of the signature.',
      source: 'Our choice: a signed version sounds as it did when rules change.',
      tests: [test(tests.signingRules, 'SIGN-9')],
      faults: [
        {
          what: 'what is not settled changes the program',
          file: code.settlements,
          fragment: 'const acts = isSettled(finding, settlements, today);',
          planted: 'const acts = isSettled(finding, settlements, today) || true;',
        },
        {
          what: 'a reason to do otherwise is not read',
          file: code.settlements,
          fragment: 'if (hasText(reason)) return false;',
          planted: 'if (hasText(reason)) return true;',
        },
        {
          what: 'what the rule changes is not kept',
          file: code.settlements,
          fragment: 'const adapt = acts && rule.adapt !== undefined ? { adapt: rule.adapt } : {};',
          planted: 'const adapt = acts && rule.adapt === undefined ? { adapt: rule.adapt } : {};',
        },
      ],
    },
  ],
};
