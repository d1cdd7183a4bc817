import type { PlannedSession } from '../../listening/plan.js';
import type { CheckInAnswers } from '../../listening/report.js';

/** What this phone knows of the last listening of one person: where it was left, or how far its questions came. */
export type Place = {
  listeningId: string;
  personId: string;
  session: PlannedSession;
  stage: 'listening' | 'check-in';
  positionMs: number;
  /** The phone's clock, epoch ms. */
  leftAtMs: number;
  answers: CheckInAnswers;
  /** Whether the answers as they are have been told. */
  areTold: boolean;
};

/** Later than this the listener got up and did other things; the session begins at its beginning. Our choice. */
const goOnWithinMs = 2 * 3_600_000;
const askWithinMs = 12 * 3_600_000;

/** Whether listening goes on where it was left: the same session of the same version, a short while ago. */
export function canResume(place: Place | null, session: PlannedSession, phoneNowMs: number): place is Place {
  return (
    place !== null &&
    place.stage === 'listening' &&
    place.session.audio === session.audio &&
    // The difference may be negative: a phone's clock can be set back.
    Math.abs(phoneNowMs - place.leftAtMs) < goOnWithinMs
  );
}

/** Whether the questions after a session can still be answered. */
export function canAnswer(place: Place | null, phoneNowMs: number): place is Place {
  return place !== null && place.stage === 'check-in' && Math.abs(phoneNowMs - place.leftAtMs) < askWithinMs;
}
