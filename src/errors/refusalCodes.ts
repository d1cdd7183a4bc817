/** What a refusal asks of whoever is refused; a page and the API each have one status for it. */
export type RefusalKind = 'mend' | 'sign-in' | 'not-allowed' | 'not-there' | 'changed' | 'wait';

/**
 * Every reason for which something that is asked for is not done, by its stable name. Other programs go by these names:
 * one is never given another meaning, and its sentence stands in `text/refusals.yaml`.
 */
export const refusalKinds = {
  // Who asks.
  'key-not-valid': 'sign-in',
  'read-only-account': 'not-allowed',
  'owner-only': 'not-allowed',
  'answer-on-page-only': 'not-allowed',
  'erase-on-page-only': 'not-allowed',
  'read-on-page-only': 'not-allowed',
  'resume-on-page-only': 'not-allowed',
  'form-outdated': 'mend',
  // What is asked for.
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
  // What has changed in the meantime, or is under way.
  'answered-already': 'changed',
  'changed-meanwhile': 'changed',
  'draft-exists': 'changed',
  'reminders-not-agreed': 'changed',
  'text-messages-off': 'changed',
  'warning-note-read-alone': 'changed',
  'voice-busy': 'wait',
  // What was given.
  'not-valid': 'mend',
  'zero-character': 'mend',
  'email-taken': 'mend',
  'no-such-role': 'mend',
  'own-account': 'mend',
  // People.
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

/** The names alone, in the order in which they are documented. */
export const refusalCodes = Object.keys(refusalKinds) as [RefusalCode, ...RefusalCode[]];

/** What is no refusal of a command: a request that cannot be read, and what failed. */
const failureCodes = ['request-not-readable', 'request-too-large', 'failed-for-now', 'failed'] as const;

/** Every code that an answer can have. */
export type AnswerCode = RefusalCode | (typeof failureCodes)[number];
export const answerCodes: readonly [AnswerCode, ...AnswerCode[]] = [...refusalCodes, ...failureCodes];
