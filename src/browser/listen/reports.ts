import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import type { CheckInAnswers, ListeningStep, NotTodayReason, ReportItem } from '../../listening/report.js';
import { newId } from './ids.js';

/** Whose session a report is about. */
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

/** Left out for the whole session. */
function chosen({ session: { choice } }: About) {
  return choice === undefined ? {} : { choice };
}

export function stepItem(
  about: About,
  listeningId: string,
  { step, positionMs }: { step: ListeningStep; positionMs: number },
): ReportItem {
  const at = { listeningId, step, positionMs: Math.round(positionMs) };
  return { kind: 'step', ...head(about), ...chosen(about), ...at };
}

export function notTodayItem(about: About, reason: NotTodayReason): ReportItem {
  return { kind: 'not-today', ...head(about), reason };
}

export function checkInItem(about: About, listeningId: string, answers: CheckInAnswers): ReportItem {
  return { kind: 'check-in', ...head(about), ...chosen(about), listeningId, answers };
}

/** `listeningId` and `positionMs` are null before anything was heard. */
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
