import { describeSign } from '../../../clinic/listening/signs.js';
import { readSigns, urgencies, warningUrgency } from '../../../followup/warningSigns.js';
import { findWarningWords } from '../../../listening/findWarningWords.js';
import type { Attention } from '../../../store/attention/attention.js';
import { unreadNotesOf } from '../../../store/followup/notes.js';
import { warningsOf } from '../../../store/listening/listeningRecords.js';
import { timeInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';

const mostRead = 20;
/** Between what was reported as a sign and the next less urgent. */
const noteRank = 0.5;

/** What a patient reported, for the first page: the signs in words, since when, and how urgent they are. */
export type ReportedSigns = {
  words: string;
  since: string;
  rank: number;
  /** By when it should have been answered, and whether that is over. */
  answerBy: string;
  isOverdue: boolean;
};

/** @param attention of the kind `warning-sign` */
export async function reportedSigns(
  { store, words, workshop, now }: Pick<HttpResources, 'store' | 'workshop' | 'words' | 'now'>,
  { patientId, sinceMs }: Attention,
  zone: string,
): Promise<ReportedSigns> {
  const warnings = await store.read((db) => warningsOf(db, patientId, mostRead));
  const ids = new Set(
    warnings.filter(({ answer }) => answer === null).flatMap(({ signs }) => readSigns(signs)),
  );
  const named = [...ids].map((id) => describeSign({ workshop }, id));
  const urgency = warningUrgency(workshop.warningSigns, [...ids]);
  const answerByMs = sinceMs + workshop.warningSigns.telling[urgency].answerWithinMinutes * 60_000;
  return {
    words: named.length === 0 ? words.unnamedSign : named.join('; '),
    since: timeInWords(sinceMs, zone),
    rank: urgencies.indexOf(urgency),
    answerBy: timeInWords(answerByMs, zone),
    isOverdue: now() > answerByMs,
  };
}

/**
 * What the unread notes of a patient may name, for the first page. A note comes right after the reported signs that are
 * as urgent, and is to be answered by being read, in the same time.
 *
 * @param attention of the kind `urgent-note`
 */
export async function notedSigns(
  service: Pick<HttpResources, 'store' | 'workshop' | 'now'>,
  { patientId, sinceMs }: Attention,
  zone: string,
): Promise<ReportedSigns> {
  const { store, workshop, now } = service;
  const notes = await store.read((db) => unreadNotesOf(db, patientId));
  const found = notes.flatMap(({ text }) => findWarningWords(text, workshop.warningWords));
  const urgency = warningUrgency(
    workshop.warningSigns,
    found.map(({ sign }) => sign),
  );
  const answerByMs = sinceMs + workshop.warningSigns.telling[urgency].answerWithinMinutes * 60_000;
  return {
    words: found.map(({ said }) => `“${said}”`).join(', '),
    since: timeInWords(sinceMs, zone),
    rank: urgencies.indexOf(urgency) + noteRank,
    answerBy: timeInWords(answerByMs, zone),
    isOverdue: now() > answerByMs,
  };
}
