import type { Generated } from 'kysely';
import type { EasierChoice, ListeningStep, NotTodayReason } from '../../listening/report.js';

/** The tables of listening; the rules of {@link Database} apply. */
export interface ListeningTables {
  listeningLink: ListeningLinkTable;
  listeningToken: ListeningTokenTable;
  listeningStep: ListeningStepTable;
  notToday: NotTodayTable;
  checkIn: CheckInTable;
  note: NoteTable;
  noteRead: NoteReadTable;
  warning: WarningTable;
  warningAnswer: WarningAnswerTable;
  feedDelivery: Reported;
}

/** The way in for a patient, or for someone who cares for some. */
interface ListeningLinkTable {
  id: string;
  clinicId: string;
  /** One of the two is given. */
  patientId: string | null;
  caregiverPersonId: string | null;
  /** Of the short code for typing. */
  codeHash: string;
  /** Null when no PIN is asked for. */
  pinHash: string | null;
  /** How often a wrong one was given in a row; too often, and the link has to be replaced. */
  wrongPins: Generated<number>;
  clinicianId: string;
  createdAtMs: number;
  expiresAtMs: number;
  lastSeenAtMs: number | null;
  revokedAtMs: number | null;
}

export type TokenPurpose = 'pages' | 'feed' | 'calendar' | 'pin';

/** Secrets of a link: addresses of its pages, its feed and its calendar, devices that gave the PIN. All end with it. */
interface ListeningTokenTable {
  tokenHash: string;
  linkId: string;
  purpose: TokenPurpose;
  /** The contact that the address was sent to; null for one that was given by the clinic or by the link itself. */
  contactId: Generated<string | null>;
  createdAtMs: number;
  revokedAtMs: number | null;
}

/** What a listener's device told, once: append-only. */
interface Reported {
  /** Made up by the device. */
  id: string;
  patientId: string;
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  /** Day in the patient's zone and which session of it: 2026-11-25#1. */
  slot: string;
  linkId: string;
  /** Who answered for the patient; null when they did themselves. */
  caregiverId: string | null;
  /** On the service's clock. */
  atMs: number;
  receivedAtMs: number;
}

interface ListeningStepTable extends Reported {
  listeningId: string;
  step: ListeningStep;
  positionMs: number;
  /** Null for the whole session. */
  choice: Generated<EasierChoice | null>;
}

interface NotTodayTable extends Reported {
  reason: NotTodayReason;
}

interface CheckInTable extends Reported {
  listeningId: string;
  /** Null for the whole session. */
  choice: Generated<EasierChoice | null>;
  /** JSON of the listening room's answers. */
  answers: string;
}

/** Which answers have a note that is to be read; the note itself stands in the answer. */
interface NoteTable {
  checkInId: string;
  patientId: string;
  /** JSON list of the ids of signs that its words may name. */
  signs: string;
  /** Of the list of words by which they were found; looked at again when it is another. */
  wordsHash: string;
}

/** Who has read a note; append-only. */
interface NoteReadTable {
  checkInId: string;
  patientId: string;
  clinicianId: string;
  atMs: number;
  /** What was found about a note that may name a warning sign; empty for others. */
  found: string;
}

interface WarningTable extends Reported {
  listeningId: string | null;
  positionMs: number | null;
  /** JSON list of ids; empty when the listener only said that something is wrong. */
  signs: string;
}

/** What a clinician did about a warning; until there is one, nothing is played. Append-only. */
interface WarningAnswerTable {
  warningId: string;
  clinicianId: string;
  note: string;
  atMs: number;
}
