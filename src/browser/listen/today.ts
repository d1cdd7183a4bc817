import type { PlannedPerson, PlannedSession, SessionState } from '../../listening/plan.js';

/**
 * What happened on this phone since the service was last reached, by {@link sessionKey}. It overrides the plan only
 * until the service knows about it.
 */
export type Marks = Readonly<Record<string, 'begun' | 'done' | 'skipped'>>;

export type TodaysSession = { session: PlannedSession; state: SessionState };

/** Returns the key of a session within one person's program. */
export function sessionKey({
  prescriptionId,
  slot,
}: Pick<PlannedSession, 'prescriptionId' | 'slot'>): string {
  return `${prescriptionId} ${slot}`;
}

/**
 * Returns a person's sessions with their state at an instant. A plan ages while the phone cannot reach the service, but
 * which session is current follows from the clock.
 *
 * @param nowMs the service's clock
 */
export function sessionsAt(person: PlannedPerson, nowMs: number, marks: Marks): TodaysSession[] {
  return person.sessions.flatMap((session) => {
    const state = marks[sessionKey(session)] ?? stateAt(session, nowMs);
    // The result of a session is hidden from people who may not know it.
    const isHidden = !person.showsDone && state !== 'due' && state !== 'later';
    return isHidden ? [] : [{ session, state }];
  });
}

function stateAt({ state, opensAtMs, closesAtMs }: PlannedSession, nowMs: number): SessionState {
  if (state === 'done' || state === 'begun' || state === 'skipped') return state;
  if (nowMs < opensAtMs) return 'later';
  return nowMs < closesAtMs ? 'due' : 'missed';
}

/** Returns whether a session can still be played now, although it was started or postponed before. */
export function isStillOpen({ opensAtMs, closesAtMs }: PlannedSession, nowMs: number): boolean {
  return nowMs >= opensAtMs && nowMs < closesAtMs;
}
