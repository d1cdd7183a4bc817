/** What the caller has to do after a refusal; a page and the API each have one status for it. */
export type RefusalKind = 'mend' | 'sign-in' | 'not-allowed' | 'not-there' | 'changed' | 'wait';

/**
 * Every reason for refusing a command, by its stable code. Other programs depend on these codes: a code never changes
 * its meaning, and its sentence is in `text/refusals.yaml`.
 */
export const refusalKinds = {
  // The caller.
  'key-not-valid': 'sign-in',
  'read-only-account': 'not-allowed',
  'owner-only': 'not-allowed',
  'answer-on-page-only': 'not-allowed',
  'erase-on-page-only': 'not-allowed',
  'read-on-page-only': 'not-allowed',
  'resume-on-page-only': 'not-allowed',
  'form-outdated': 'mend',
  // The thing that was requested.
  'no-such-account': 'not-there',
  'no-such-break': 'not-there',
  'no-such-caregiver': 'not-there',
  'no-such-contact': 'not-there',
  'no-such-endpoint': 'not-there',
  'no-such-key': 'not-there',
  'no-such-measure': 'not-there',
  'no-such-note': 'not-there',
  'no-such-page': 'not-there',
  'no-such-person': 'not-there',
  'no-such-program': 'not-there',
  'no-such-sign-in': 'not-there',
  'no-such-table': 'not-there',
  'no-such-value': 'not-there',
  'program-not-readable': 'not-there',
  'session-forgotten': 'not-there',
  // Something that has changed in the meantime or is in progress.
  'answered-already': 'changed',
  'changed-meanwhile': 'changed',
  'draft-exists': 'changed',
  'reminders-not-agreed': 'changed',
  'text-messages-off': 'changed',
  'warning-note-read-alone': 'changed',
  'voice-busy': 'wait',
  // The input.
  'not-valid': 'mend',
  'zero-character': 'mend',
  'email-taken': 'mend',
  'no-such-role': 'mend',
  'own-account': 'mend',
  // Patients.
  'break-end-needed': 'mend',
  'break-end-not-asked': 'mend',
  'break-out-of-order': 'mend',
  'break-too-far': 'mend',
  'break-too-long': 'mend',
  'caregiver-not-fitting': 'mend',
  'day-ahead': 'mend',
  'hospital-not-over': 'mend',
  'hospital-since-screening': 'mend',
  'resume-on-device-only': 'mend',
  // Screening.
  'details-missing': 'mend',
  'no-such-question': 'mend',
  'nothing-asked': 'mend',
  'question-unanswered': 'mend',
  'screening-too-old': 'mend',
  // Prescribing and signing.
  'ceiling-not-met': 'mend',
  'conflicting-draft': 'mend',
  'knees-not-met': 'mend',
  'no-such-starter': 'mend',
  'note-unread': 'mend',
  'notes-unread': 'mend',
  'precaution-open': 'mend',
  'precautions-open': 'mend',
  'program-ended': 'mend',
  'handout-held': 'mend',
  'handout-not-playable': 'mend',
  'program-not-playable': 'mend',
  'program-not-active': 'mend',
  'program-stopped': 'mend',
  'program-too-large': 'mend',
  'question-not-asked': 'mend',
  'reason-missing': 'mend',
  'record-damaged': 'mend',
  'screened-meanwhile': 'mend',
  'screening-missing': 'mend',
  'screening-needed': 'mend',
  'signed-already': 'mend',
  'step-not-possible': 'mend',
  'warning-unanswered': 'mend',
  'warning-waits': 'mend',
  // Follow-up.
  'advice-outdated': 'mend',
  'day-before-birth': 'mend',
  'limits-out-of-order': 'mend',
  'measure-missing': 'mend',
  'name-taken': 'mend',
  'not-plausible': 'mend',
  'not-whole': 'mend',
  'number-missing': 'mend',
  'too-many-measures': 'mend',
  'unit-not-valid': 'mend',
  'unknown-unit': 'mend',
  'value-missing': 'mend',
  'value-not-a-number': 'mend',
  'values-missing': 'mend',
  // Records and documents.
  'link-not-valid': 'mend',
  'name-not-matching': 'mend',
  'note-changed': 'mend',
  'note-out-of-order': 'mend',
  'note-signed-otherwise': 'mend',
  'note-too-long': 'mend',
} as const satisfies Readonly<Record<string, RefusalKind>>;

export type RefusalCode = keyof typeof refusalKinds;

/** Only the codes, in the order in which they are documented. */
export const refusalCodes = Object.keys(refusalKinds) as [RefusalCode, ...RefusalCode[]];

/** Codes for failures that are not refusals of a command: a request that cannot be read, and errors. */
const failureCodes = ['request-not-readable', 'request-too-large', 'failed-for-now', 'failed'] as const;

/** Every code that a response can have. */
export type AnswerCode = RefusalCode | (typeof failureCodes)[number];
export const answerCodes: readonly [AnswerCode, ...AnswerCode[]] = [...refusalCodes, ...failureCodes];
