import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import type { CheckInAnswers, ListeningStep, NotTodayReason, ReportItem } from '../../listening/report.js';
import { newId } from './ids.js';

/** The person and session that a report is about. */
export type About = { personId: PlannedPerson['id']; session: PlannedSession };

function head({ personId, session }: About) {
  const { prescriptionId, versionNumber, sessionNumber, slot } = session;
  return {
    id: newId(),
    patientId: personId,
    prescriptionId,
    versionNumber,
    sessionNumber,
    slot,
    atMs: Date.now(),
  };
}

/** Returns the easier choice; left out for the full session. */
function chosen({ session: { choice } }: About) {
  return choice === undefined ? {} : { choice };
}

/** Makes the report of a step of one listening, with the position in whole milliseconds. */
export function stepItem(
  about: About,
  listeningId: string,
  { step, positionMs }: { step: ListeningStep; positionMs: number },
): ReportItem {
  const at = { listeningId, step, positionMs: Math.round(positionMs) };
  return { kind: 'step', ...head(about), ...chosen(about), ...at };
}

/** Makes the report that a session is postponed. */
export function notTodayItem(about: About, reason: NotTodayReason): ReportItem {
  return { kind: 'not-today', ...head(about), reason };
}

/** Makes the report of the answers after a session. */
export function checkInItem(about: About, listeningId: string, answers: CheckInAnswers): ReportItem {
  return { kind: 'check-in', ...head(about), ...chosen(about), listeningId, answers };
}

/** Makes the report of a warning. `listeningId` and `positionMs` are null before anything was heard. */
export function warningItem(
  about: About,
  {
    listeningId,
    positionMs,
    signs,
  }: { listeningId: string | null; positionMs: number | null; signs: string[] },
): ReportItem {
  return {
    kind: 'warning',
    ...head(about),
    listeningId,
    positionMs: positionMs === null ? null : Math.round(positionMs),
    signs,
  };
}
