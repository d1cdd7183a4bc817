import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import { minuteMs } from '../../time/units.js';
import type { TodaysSession } from './today.js';

/** For how long a bedside tablet calls, every minute and slightly louder each time. Our choice. */
const callsForMinutes = 10;
/** In these minutes the voice names the person and the session; the other calls are a chime alone. */
const spokenAtMinutes: readonly number[] = [0, 5];
/**
 * A session that has not been started for this long no longer lights up the room; it can still be started from the
 * first view.
 */
const shownForMinutes = 120;

export type AtBedside = { person: PlannedPerson; isHeld: boolean; sessions: readonly TodaysSession[] };
type Someones = { person: PlannedPerson; session: PlannedSession };

/** What the tablet shows. `minute` counts from the session's due time. */
export type Moment =
  | ({ kind: 'due'; minute: number } & Someones)
  | { kind: 'waiting'; next: Someones | null };

/** Returns what a bedside tablet shows at an instant; the session that has waited longest comes first. */
export function bedsideAt(people: readonly AtBedside[], nowMs: number): Moment {
  const all = people.flatMap(({ person, isHeld, sessions }) =>
    isHeld ? [] : sessions.map(({ session, state }) => ({ person, session, state })),
  );
  const inOrder = all.sort((a, b) => a.session.dueAtMs - b.session.dueAtMs);
  const minuteOf = ({ dueAtMs }: PlannedSession) => Math.floor((nowMs - dueAtMs) / minuteMs);
  const open = inOrder.filter(
    ({ state, session }) => (state === 'due' || state === 'later') && minuteOf(session) < shownForMinutes,
  );
  const due = open.find(({ state, session }) => state === 'due' && session.dueAtMs <= nowMs);
  if (due !== undefined) {
    const { person, session } = due;
    return { kind: 'due', person, session, minute: minuteOf(session) };
  }
  const [next] = open;
  return {
    kind: 'waiting',
    next: next === undefined ? null : { person: next.person, session: next.session },
  };
}

/**
 * Returns how the tablet calls in a minute after the due time, with `strength` above 0 and up to 1; null when it does
 * not call.
 */
export function callAt(minute: number): { strength: number; isSpoken: boolean } | null {
  if (minute >= callsForMinutes) return null;
  return { strength: (minute + 1) / callsForMinutes, isSpoken: spokenAtMinutes.includes(minute) };
}
