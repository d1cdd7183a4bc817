import type { PlannedPerson, PlannedSession, SessionState } from '../../listening/plan.js';

/**
 * What happened on this phone since the service was last reached, by {@link sessionKey}. It stands in the way of the
 * plan only until the service knows of it.
 */
export type Marks = Readonly<Record<string, 'begun' | 'done' | 'skipped'>>;

export type TodaysSession = { session: PlannedSession; state: SessionState };

/** Names a session within one person's program. */
export function sessionKey({
  prescriptionId,
  slot,
}: Pick<PlannedSession, 'prescriptionId' | 'slot'>): string {
  return `${prescriptionId} ${slot}`;
}

/**
 * A person's sessions as they are at a moment: a plan grows old while the phone is away from the service, but what
 * is for now follows from the clock.
 *
 * @param nowMs the service's clock
 */
export function sessionsAt(person: PlannedPerson, nowMs: number, marks: Marks): TodaysSession[] {
  return person.sessions.flatMap((session) => {
    const state = marks[sessionKey(session)] ?? stateAt(session, nowMs);
    // What became of a session is not shown to those who may not know.
    const isHidden = !person.showsDone && state !== 'due' && state !== 'later';
    return isHidden ? [] : [{ session, state }];
  });
}

function stateAt({ state, opensAtMs, closesAtMs }: PlannedSession, nowMs: number): SessionState {
  if (state === 'done' || state === 'begun' || state === 'skipped') return state;
  if (nowMs < opensAtMs) return 'later';
  return nowMs < closesAtMs ? 'due' : 'missed';
}

/** Whether a session could still be listened to now, though it was begun or put off before. */
export function isStillOpen({ opensAtMs, closesAtMs }: PlannedSession, nowMs: number): boolean {
  return nowMs >= opensAtMs && nowMs < closesAtMs;
}
