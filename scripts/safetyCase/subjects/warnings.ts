import { code, tests } from '../places.js';
import { onSqlite, type Subject, test } from '../rule.js';

/** Warning signs: none passes silently. */
export const warnings: Subject = {
  name: 'warnings',
  rules: [
    {
      id: 'WARN-1',
      sentence: 'A clinician answers the signs that her page showed, and no later one.',
      source: 'Our choice.',
      tests: [test(tests.warningRules, 'WARN-1')],
      faults: [
        {
          what: 'a sign that came after the page was drawn is answered unseen',
          file: code.warnings,
          fragment: 'const seen = Math.min(seenUpToMs, actor.nowMs);',
          planted: 'const seen = actor.nowMs;',
        },
        {
          what: 'a page may claim to have seen what is to come',
          file: code.warnings,
          fragment: 'const seen = Math.min(seenUpToMs, actor.nowMs);',
          planted: 'const seen = seenUpToMs;',
        },
        {
          what: 'every sign is answered, whenever it came',
          file: code.listeningRecords,
          fragment: "    .where('warning.receivedAtMs', '<=', seenUpToMs)\n",
          planted: '',
        },
        {
          what: 'signs of somebody else are answered too',
          file: code.listeningRecords,
          fragment: "    .where('warning.patientId', '=', patientId)\n    .where('warning.receivedAtMs'",
          planted: "    .where('warning.receivedAtMs'",
        },
        {
          what: 'an answer that answers nothing is taken',
          file: code.warnings,
          fragment: 'if (answered.length === 0) throw',
          planted: 'if (answered.length > 100) throw',
        },
      ],
    },
    {
      id: 'WARN-2',
      sentence: 'A sign that nobody has answered holds everything back, also while another one was answered.',
      source: 'Our choice.',
      tests: [test(tests.warningRules, 'WARN-2'), onSqlite(tests.listeningContract)],
      faults: [
        {
          what: 'one answered sign opens the rest',
          file: code.patientChanged,
          fragment: "    .where('warningAnswer.warningId', 'is', null)\n    .orderBy('warning.receivedAtMs')",
          planted: "    .orderBy('warning.receivedAtMs', 'desc')",
        },
        {
          what: 'the page plays while a sign is open',
          file: code.sessions,
          fragment: 'if ((await openWarningSince(db, prescription.patientId)) !== null) return null;',
          planted: '',
        },
        {
          what: 'the plan does not say that everything is held back',
          file: code.planFor,
          fragment: 'isHeld: (await chart.openWarningSince()) !== null,',
          planted: 'isHeld: false,',
        },
        {
          what: 'a sign of another patient holds this one',
          file: code.patientChanged,
          fragment: "    .where('warning.patientId', '=', patientId)\n",
          planted: '',
        },
      ],
    },
    {
      id: 'WARN-3',
      sentence:
        'A sign that is not on the list counts as an emergency, and one without a name as one to call about today.',
      source: 'Our choice: it must not pass for less than it was.',
      tests: [test(tests.warningSigns)],
      faults: [
        {
          what: 'an unknown sign is the least urgent',
          file: code.warningSigns,
          fragment: "?.urgency ?? ('emergency' as const)",
          planted: "?.urgency ?? ('stop-and-rest' as const)",
        },
        {
          what: 'the least urgent of several',
          file: code.warningSigns,
          fragment: 'return urgencies.find((urgency) => found.has(urgency)) ?? null;',
          planted: 'return urgencies.findLast((urgency) => found.has(urgency)) ?? null;',
        },
        {
          what: 'something wrong without a name is the least urgent',
          file: code.warningSigns,
          fragment: "return urgencyOf(warningSigns, signIds) ?? 'call-today';",
          planted: "return urgencyOf(warningSigns, signIds) ?? 'stop-and-rest';",
        },
        {
          what: 'more urgent turned round',
          file: code.warningSigns,
          fragment: 'return urgencies.indexOf(one) < urgencies.indexOf(other);',
          planted: 'return urgencies.indexOf(one) <= urgencies.indexOf(other);',
        },
      ],
    },
    {
      id: 'WARN-4',
      sentence: 'A sign that is ticked after a session is a warning, whatever the phone made of it.',
      source: 'Our choice.',
      tests: [test(tests.warningRules, 'WARN-4'), test(tests.listeningReports, 'as a sign ticked')],
      faults: [
        {
          what: 'ticks are only kept',
          file: code.reportCommands,
          fragment: "if (result === 'new' && signs != null && signs.length > 0) {",
          planted: "if (result === 'new' && signs != null && signs.length > 1) {",
        },
        {
          what: 'one of two signs that was told passes for both',
          file: code.reportCommands,
          fragment: 'return signs.every((sign) => warnedSigns.has(sign));',
          planted: 'return signs.some((sign) => warnedSigns.has(sign));',
        },
        {
          what: 'a warning of another session passes for this one',
          file: code.listeningRecords,
          fragment:
            "    .where('listeningId', '=', listeningId)\n    .execute();\n  return found.map(({ signs }) => signs);",
          planted: '    .execute();\n  return found.map(({ signs }) => signs);',
        },
        {
          what: 'nobody is told',
          file: code.reportCommands,
          fragment: 'await notifyOfWarning(db, openWarning, reminderSecrets);',
          planted: '',
        },
      ],
    },
    {
      id: 'WARN-5',
      sentence: 'Every clinician is told of a sign at once, and again until somebody has answered it.',
      source: 'The times of warning-signs.yaml.',
      tests: [test(tests.warningsAndWeeks), test(tests.harm)],
      faults: [
        {
          what: 'told once only',
          file: code.planOthers,
          fragment: '    for (const afterMinutes of [0, ...telling.toldAgainAfterMinutes]) {\n      add(',
          planted: '    for (const afterMinutes of [0]) {\n      add(',
        },
        {
          what: 'not told at once',
          file: code.planOthers,
          fragment: '    for (const afterMinutes of [0, ...telling.toldAgainAfterMinutes]) {\n      add(',
          planted: '    for (const afterMinutes of telling.toldAgainAfterMinutes) {\n      add(',
        },
        {
          what: 'a warning that is late is not sent',
          file: code.otherKinds,
          fragment:
            "  if (!mayKnow) return { do: 'drop', why: 'no-consent' };\n  const isAgain = isRepeat({ forAtMs, slotDueAtMs });\n  // The machine may have slept for days: what was never tried is sent, however late.\n  if (nowMs >= goodUntilMs && (isAgain || attempts > 1))",
          planted:
            "  if (!mayKnow) return { do: 'drop', why: 'no-consent' };\n  const isAgain = isRepeat({ forAtMs, slotDueAtMs });\n  if (nowMs >= goodUntilMs || attempts > 10_000)",
        },
        {
          what: 'told again after it was answered',
          file: code.otherKinds,
          fragment: "if (await store.read((db) => isWarningAnswered(db, subject ?? ''))) return",
          planted: "if (subject === 'none') return",
        },
        {
          what: 'who ended reminders is not told of signs',
          file: code.sendingPeople,
          fragment: "takesWarnings: (endedAtMs === null || endedWhy === 'unsubscribed') &&",
          planted: 'takesWarnings: endedAtMs === null &&',
        },
      ],
    },
    {
      id: 'WARN-6',
      sentence: 'A caregiver is told of a sign only where the patient has agreed to it.',
      source: 'Our choice.',
      tests: [test(tests.caregiverWarnings, 'WARN-6')],
      faults: [
        {
          what: 'every caregiver is told',
          file: code.planOthers,
          fragment: 'if (toldOfWarnings) add(',
          planted: 'if (toldOfWarnings || caregiverId !== null) add(',
        },
        {
          what: 'consent that was taken back is not asked for again',
          file: code.otherKinds,
          fragment:
            "      consents.has(consentKey(patientId ?? '', 'caregiver-told-of-warnings', caregiverId)));",
          planted: '      consents.size >= 0);',
        },
        {
          what: 'a caregiver who was taken away is told',
          file: code.otherKinds,
          fragment: '(caregivers.has(caregiverId) &&',
          planted: '(caregivers.size >= 0 &&',
        },
      ],
    },
    {
      id: 'WARN-7',
      sentence: 'Reminders rest while a sign is open.',
      source: 'Our choice.',
      tests: [test(tests.caregiverWarnings, 'WARN-7'), test(tests.sending), test(tests.warningsAndWeeks)],
      faults: [
        {
          what: 'asked for at the moment of sending no more',
          file: code.sending,
          fragment: "if (moment.isHeldByWarning) return 'held-by-warning';",
          planted: '',
        },
        {
          what: 'an answered sign holds too',
          file: code.sendingPeople,
          fragment:
            "    .where('warningAnswer.warningId', 'is', null)\n    .execute();\n  return new Set(rows.map(({ patientId }) => patientId));",
          planted: '    .execute();\n  return new Set(rows.map(({ patientId }) => patientId));',
        },
        {
          what: 'planned while a sign is open',
          file: code.planPatient,
          fragment: 'const going = isHeld ? [] : playable;',
          planted: 'const going = playable;',
        },
      ],
    },
    {
      id: 'WARN-8',
      sentence: 'A sign stands first on the pages, those that nobody has answered before all others.',
      source: 'Our choice.',
      tests: [test(tests.warningRules, 'WARN-8')],
      faults: [
        {
          what: 'answered ones first',
          file: code.historyRows,
          fragment: "when('warningAnswer.atMs', 'is', null).then(0).else(1).end())",
          planted: "when('warningAnswer.atMs', 'is', null).then(1).else(0).end())",
        },
        {
          what: 'signs without a name first',
          file: code.historyRows,
          fragment: "when('warning.signs', '!=', '[]').then(0).else(1).end())",
          planted: "when('warning.signs', '!=', '[]').then(1).else(0).end())",
        },
      ],
    },
  ],
};
