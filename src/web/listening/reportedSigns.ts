import { urgencies, warningUrgency } from '../../followup/warningSigns.js';
import type { Attention } from '../../store/attention.js';
import { warningsOf } from '../../store/listeningRecords.js';
import { timeInWords } from '../forms/words.js';
import type { Service } from '../service.js';
import { readSigns } from './signs.js';

const mostRead = 20;

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
  { store, words, workshop, now }: Service,
  { patientId, sinceMs }: Attention,
  zone: string,
): Promise<ReportedSigns> {
  const warnings = await store.read((db) => warningsOf(db, patientId, mostRead));
  const ids = new Set(
    warnings.filter(({ answer }) => answer === null).flatMap(({ signs }) => readSigns(signs)),
  );
  const named = [...ids].map((id) => workshop.warningSigns.signs.find((sign) => sign.id === id)?.words ?? id);
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
