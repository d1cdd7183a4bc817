import { code, tests } from '../places.js';
import { onSqlite, type Subject, test } from '../rule.js';

/** Who may see, hear and change what. */
export const permissions: Subject = {
  name: 'permissions',
  rules: [
    {
      id: 'PERM-1',
      sentence: 'An account, or a key, that may only read changes nothing.',
      source: 'Our choice.',
      tests: [test(tests.permissionRules, 'PERM-1')],
      faults: [
        {
          what: 'whoever may read may write',
          file: code.actor,
          fragment: 'if (!mayWrite) throw refused(',
          planted: 'if (mayWrite === undefined) throw refused(',
        },
        {
          what: 'read-only accounts write on pages',
          file: code.routing,
          fragment: "const mayWrite = who.clinician.role !== 'read-only';",
          planted: 'const mayWrite = who.clinician.role !== null;',
          tests: [test(tests.accounts, 'join once by a link')],
        },
        {
          what: 'a key that may only read writes',
          file: code.accessKeys,
          fragment: 'return { clinician, accessKeyId, mayWrite: mayWrite === 1, lastSeenAtMs };',
          planted: 'return { clinician, accessKeyId, mayWrite: mayWrite >= 0, lastSeenAtMs };',
        },
        {
          what: 'a key may more than whoever made it',
          file: code.keys,
          fragment: 'mayWrite: mayWrite && actor.mayWrite,',
          planted: 'mayWrite,',
        },
        ...[
          {
            what: 'signs',
            file: code.signing,
            before: '  requireMayWrite(actor);\n  const screening = await chart.screening();',
            after: '  const screening = await chart.screening();',
          },
          {
            what: 'answers warning signs',
            file: code.warnings,
            before: '  requireMayWrite(actor);\n',
            after: '',
          },
          { what: 'screens', file: code.screening, before: '  requireMayWrite(actor);\n', after: '' },
          {
            what: 'pauses and resumes',
            file: code.prescriptionCommands,
            before: '  requireMayWrite(actor);\n  parseForm(',
            after: '  parseForm(',
          },
          {
            what: 'gives links',
            file: code.linkCommands,
            before: '  requireMayWrite(actor);\n  const [token, code]',
            after: '  const [token, code]',
          },
        ].map(({ what, file, before, after }) => ({
          what: `whoever may only read ${what}`,
          file,
          fragment: before,
          planted: after,
        })),
      ],
    },
    {
      id: 'PERM-2',
      sentence: 'Accounts, settings and erasure are for owners.',
      source: 'Our choice.',
      tests: [test(tests.permissionRules, 'PERM-2'), test(tests.record, 'is given to nobody')],
      faults: [
        {
          what: 'clinicians count as owners',
          file: code.actor,
          fragment: "if (clinician.role !== 'owner') throw",
          planted: "if (clinician.role === 'read-only') throw",
        },
        {
          what: 'an owner makes a link for her own account',
          file: code.accountLinkCommands,
          fragment: ' || colleague.id === madeById) {',
          planted: ') {',
          tests: [test(tests.permissionRules, 'PERM-2')],
        },
        {
          what: 'a link for an account that has ended',
          file: code.accountLinkCommands,
          fragment: 'colleague.endedAtMs !== null || ',
          planted: '',
          tests: [test(tests.permissionRules, 'PERM-2')],
        },
      ],
    },
    {
      id: 'PERM-3',
      sentence: 'Nothing of one clinic is found, heard or changed by another.',
      source: 'Our choice.',
      tests: [test(tests.permissionRules, 'PERM-3'), onSqlite(tests.contract)],
      faults: [
        {
          what: 'patients of every clinic',
          file: code.chartRows,
          fragment:
            "    .where('id', '=', id)\n    .where('clinicId', '=', clinicId)\n    .executeTakeFirst();\n  if (row === undefined) return null;",
          planted:
            "    .where('id', '=', id)\n    .executeTakeFirst();\n  if (row === undefined) return null;",
        },
        {
          what: 'another clinic changes a patient',
          file: code.patients,
          fragment: "    .where('clinicId', '=', clinicId)\n    .where('revision', '=', change.revision)",
          planted: "    .where('revision', '=', change.revision)",
        },
        {
          what: 'the list shows every clinic’s',
          file: code.patients,
          fragment:
            "    .select(['id', 'name', 'birthYear', 'zone'])\n    .where('clinicId', '=', clinicId);",
          planted: "    .select(['id', 'name', 'birthYear', 'zone']);",
        },
        {
          what: 'programs of every clinic',
          file: code.chartRows,
          fragment: "    .where('prescription.id', '=', id)\n    .where('patient.clinicId', '=', clinicId)\n",
          planted: "    .where('prescription.id', '=', id)\n",
        },
        {
          what: 'programs of somebody in another clinic',
          file: code.chartRows,
          fragment:
            "    .where('prescription.patientId', '=', patientId)\n    .where('patient.clinicId', '=', clinicId)\n",
          planted: "    .where('prescription.patientId', '=', patientId)\n",
        },
        {
          what: 'links of another clinic are ended',
          file: code.listeningLinks,
          fragment: "    .set({ revokedAtMs: nowMs })\n    .where('clinicId', '=', clinicId)\n",
          planted: '    .set({ revokedAtMs: nowMs })\n',
        },
        {
          what: 'caregivers care for patients of another clinic',
          file: code.caregivers,
          fragment:
            "    .where('caregiver.endedAtMs', 'is', null)\n    .where('patient.clinicId', '=', clinicId)\n",
          planted: "    .where('caregiver.endedAtMs', 'is', null)\n",
        },
      ],
    },
    {
      id: 'PERM-4',
      sentence: 'A link opens its own pages until it is replaced, revoked or has run out.',
      source: 'Our choice.',
      tests: [test(tests.linkRules, 'PERM-4'), onSqlite(tests.listeningContract)],
      faults: [
        {
          what: 'a revoked link opens',
          file: code.listeningLinks,
          fragment:
            "    .where('listeningLink.revokedAtMs', 'is', null)\n    .where('listeningLink.expiresAtMs', '>', token.nowMs)\n",
          planted: "    .where('listeningLink.expiresAtMs', '>', token.nowMs)\n",
        },
        {
          what: 'a link that has run out opens',
          file: code.listeningLinks,
          fragment: "    .where('listeningLink.expiresAtMs', '>', token.nowMs)\n",
          planted: '',
        },
        {
          what: 'the address of a feed opens the pages',
          file: code.listeningLinks,
          fragment: "    .where('listeningToken.purpose', '=', token.purpose)\n",
          planted: '',
        },
        {
          what: 'a revoked address opens',
          file: code.listeningLinks,
          fragment: "    .where('listeningToken.revokedAtMs', 'is', null)\n",
          planted: '',
        },
        {
          what: 'a code that has run out opens',
          file: code.listeningLinks,
          fragment:
            "    .where('codeHash', '=', codeHash)\n    .where('revokedAtMs', 'is', null)\n    .where('expiresAtMs', '>', nowMs)\n",
          planted: "    .where('codeHash', '=', codeHash)\n    .where('revokedAtMs', 'is', null)\n",
        },
        {
          what: 'the link before goes on',
          file: code.listeningLinks,
          fragment: '  await revokeLinks(db, link.clinicId, link.owner, link.nowMs);\n',
          planted: '',
        },
      ],
    },
    {
      id: 'PERM-5',
      sentence: 'A link is given sound and sentences of its own patients alone.',
      source: 'Our choice.',
      tests: [test(tests.linkRules, 'PERM-5')],
      faults: [
        {
          what: 'sentences of another patient of the clinic',
          file: code.prompts,
          fragment: 'if (!patients.some((each) => each.patientId === patientId)) return null;',
          planted: '',
        },
        {
          what: 'sessions of another patient of the clinic',
          file: code.sessions,
          fragment: ' || !patientIds.includes(prescription.patientId)) return null;',
          planted: ') return null;',
        },
        {
          what: 'a paused program plays',
          file: code.sessions,
          fragment: "if (prescription?.state !== 'active' ||",
          planted: 'if (prescription == null ||',
        },
        {
          what: 'a version replaced long ago plays',
          file: code.sessions,
          fragment: 'nowMs - next.signedAtMs < replacedPlaysMs ? version : null',
          planted: 'nowMs - next.signedAtMs < 2 * replacedPlaysMs ? version : null',
        },
        {
          what: 'any number of sessions ahead is made',
          file: code.sessions,
          fragment: 'if (sessionNumber > number + mostAhead ||',
          planted: 'if (sessionNumber > number + mostAhead + 1 ||',
        },
        {
          what: 'reports about another link’s patient are kept',
          file: code.reportCommands,
          fragment: 'if (from === undefined) return [];\n',
          planted:
            'if (from === undefined) return [{ index, item, told: { linkId: listener.linkId, caregiverId: null, atMs: item.atMs, receivedAtMs } }];\n',
        },
      ],
    },
    {
      id: 'PERM-6',
      sentence: 'A link with a PIN opens nothing before it was given on that device for that link.',
      source: 'Our choice.',
      tests: [test(tests.linkRules, 'PERM-6')],
      faults: [
        {
          what: 'no PIN is asked for',
          file: code.listener,
          fragment: 'if (givenPin === null) return false;',
          planted: 'if (givenPin === null) return true;',
        },
        {
          what: 'a PIN of another link',
          file: code.listener,
          fragment: 'return found?.linkId === link.linkId;',
          planted: 'return found !== null;',
        },
      ],
    },
    {
      id: 'PERM-7',
      sentence:
        'A caregiver sees what was done only where the patient has agreed to it, until that is taken back.',
      source: 'Our choice.',
      tests: [test(tests.linkRules, 'PERM-7'), onSqlite(tests.careContract, 'keeps what was agreed to')],
      faults: [
        {
          what: 'consent that was taken back counts',
          file: code.listeningConsent,
          fragment: ' && consent.isGiven,',
          planted: ',',
        },
        {
          what: 'consent about another caregiver counts',
          file: code.listeningConsent,
          fragment: 'consent.caregiverId === caregiverId && consent.isGiven',
          planted: 'consent.isGiven',
        },
        {
          what: 'every caregiver sees it',
          file: code.planFor,
          fragment: "const showsDone = await agreed('caregiver-sees-done');",
          planted: "const showsDone = (await agreed('caregiver-sees-done')) || true;",
        },
        {
          what: 'a caregiver whose care has ended',
          file: code.caregivers,
          fragment:
            "    .where('caregiver.endedAtMs', 'is', null)\n    .where('patient.clinicId', '=', clinicId)\n",
          planted: "    .where('patient.clinicId', '=', clinicId)\n",
          tests: [onSqlite(tests.listeningContract)],
        },
      ],
    },
    {
      id: 'PERM-8',
      sentence: 'Sign-ins, keys and account links end in time, with the account, and when they were used.',
      source:
        'OWASP Session Management Cheat Sheet (from memory) for ending by time and idleness; the times are ours.',
      tests: [onSqlite(tests.contract), onSqlite(tests.careContract), onSqlite(tests.accountsContract)],
      faults: [
        {
          what: 'a sign-in never ends',
          file: code.signInSessions,
          fragment: "    .where('signInSession.expiresAtMs', '>', session.nowMs)\n",
          planted: '',
        },
        {
          what: 'an idle sign-in goes on',
          file: code.signInSessions,
          fragment: "    .where('signInSession.lastSeenAtMs', '>', session.nowMs - session.idleMs)\n",
          planted: '',
        },
        {
          what: 'an ended key works',
          file: code.accessKeys,
          fragment:
            "    .where('accessKey.tokenHash', '=', tokenHash)\n    .where('accessKey.endedAtMs', 'is', null)\n",
          planted: "    .where('accessKey.tokenHash', '=', tokenHash)\n",
        },
        {
          what: 'a colleague ends her key',
          file: code.accessKeys,
          fragment: "    .where('id', '=', id)\n    .where('clinicianId', '=', clinicianId)\n",
          planted: "    .where('id', '=', id)\n",
        },
        {
          what: 'an account link is used twice',
          file: code.accountLinks,
          fragment: '.set({ usedAtMs: nowMs })',
          planted: '.set({ usedAtMs: null })',
        },
        {
          what: 'an account link works after its day',
          file: code.accountLinks,
          fragment:
            "    .where('accountLink.expiresAtMs', '>', nowMs)\n    .where('clinician.endedAtMs', 'is', null)\n",
          planted: "    .where('clinician.endedAtMs', 'is', null)\n",
        },
        {
          what: 'a link to an account that has ended',
          file: code.accountLinks,
          fragment:
            "    .where('accountLink.expiresAtMs', '>', nowMs)\n    .where('clinician.endedAtMs', 'is', null)\n    .executeTakeFirst();\n  return found",
          planted:
            "    .where('accountLink.expiresAtMs', '>', nowMs)\n    .executeTakeFirst();\n  return found",
        },
      ],
    },
    {
      id: 'PERM-9',
      sentence: 'Secrets can be tried only so often, by account and by place.',
      source:
        'OWASP Authentication Cheat Sheet (from memory): throttle by account, and by origin more widely.',
      tests: [test(tests.signInLimits)],
      faults: [
        {
          what: 'an account may be tried without end',
          file: code.signInLimits,
          fragment: 'return account === null || isAllowed(accounts, keyOf(account));',
          planted: 'return account === null || (await isAllowed(accounts, keyOf(account))) || true;',
        },
        {
          what: 'eleven tries',
          file: code.signInLimits,
          fragment: 'const mostTriesAnAccount = 10;',
          planted: 'const mostTriesAnAccount = 11;',
        },
        {
          what: 'a place may try without end',
          file: code.signInLimits,
          fragment: 'if (!(await isAllowed(places, placeKey(place)))) return false;',
          planted: '',
        },
        {
          what: 'capitals make another account',
          file: code.signInLimits,
          fragment: 'hashToken(account.toLowerCase())',
          planted: 'hashToken(account)',
        },
        {
          what: 'each address of a /64 is a place of its own',
          file: code.signInLimits,
          fragment: '.slice(0, 4)\n',
          planted: '.slice(0, 8)\n',
        },
      ],
    },
    {
      id: 'PERM-10',
      sentence: 'A form is taken only from the sign-in whose page holds it.',
      source: 'OWASP Cross-Site Request Forgery Prevention Cheat Sheet (from memory).',
      tests: [test(tests.service, 'requests that are not hers')],
      faults: [
        {
          what: 'no token is asked for',
          file: code.routing,
          fragment: "if (method === 'post') requireOwnForm(authenticated);",
          planted: '',
        },
        {
          what: 'pages without a sign-in',
          file: code.routing,
          fragment: "if (authenticated === null) return response.redirect(303, '/sign-in');",
          planted: "if (authenticated === null) return response.redirect(303, '/');",
        },
      ],
    },
  ],
};
