import type { PlannedSession } from '../../listening/plan.js';
import type { CheckInAnswers } from '../../listening/report.js';

/** What this phone knows about a person's last listening: where it was left, or which questions were answered. */
export type Place = {
  listeningId: string;
  personId: string;
  session: PlannedSession;
  stage: 'listening' | 'check-in';
  positionMs: number;
  /** The phone's clock, epoch ms. */
  leftAtMs: number;
  answers: CheckInAnswers;
  /** Whether the current answers have been reported. */
  areTold: boolean;
};

/**
 * After this time the listener has probably got up and done other things, so the session starts from the beginning. Our
 * choice.
 */
const goOnWithinMs = 2 * 3_600_000;
const askWithinMs = 12 * 3_600_000;

/**
 * Returns whether listening can resume where it was left: it is the same session of the same version, and not long ago.
 */
export function canResume(place: Place | null, session: PlannedSession, phoneNowMs: number): place is Place {
  return (
    place !== null &&
    place.stage === 'listening' &&
    place.session.audio === session.audio &&
    // The difference can be negative, because a phone's clock can be set back.
    Math.abs(phoneNowMs - place.leftAtMs) < goOnWithinMs
  );
}

/** Returns whether the questions after a session can still be answered. */
export function canAnswer(place: Place | null, phoneNowMs: number): place is Place {
  return place !== null && place.stage === 'check-in' && Math.abs(phoneNowMs - place.leftAtMs) < askWithinMs;
}
