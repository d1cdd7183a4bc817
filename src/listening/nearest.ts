import type { PlannedSession } from './plan.js';

/** Finds the session whose time is nearest to an instant, before or after it. */
export function findNearestSession(
  nowMs: number,
  sessions: readonly PlannedSession[],
): PlannedSession | null {
  const distance = ({ dueAtMs }: PlannedSession) => Math.abs(dueAtMs - nowMs);
  return sessions.reduce<PlannedSession | null>(
    (nearest, session) => (nearest === null || distance(session) < distance(nearest) ? session : nearest),
    null,
  );
}
