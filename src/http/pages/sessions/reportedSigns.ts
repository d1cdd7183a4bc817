import { describeSign } from '../../../clinic/listening/signs.js';
import { readSigns, urgencies, warningUrgency } from '../../../followup/warningSigns.js';
import { findWarningWords } from '../../../listening/findWarningWords.js';
import type { Attention } from '../../../store/attention/attention.js';
import { unreadNotesOf, warningsOf } from '../../../store/followup/history.js';
import { timeInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';

const mostRead = 20;
/** Between a reported sign and the next less urgent one. */
const noteRank = 0.5;

/** A patient's report, for the home page: the signs in words, since when, and their urgency. */
export type ReportedSigns = {
  words: string;
  since: string;
  rank: number;
  /** By when it should have been answered, and whether that has passed. */
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
 * What a patient's unread notes may name, for the home page. A note comes right after reported signs of the same
 * urgency, and should be read within the same time.
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
