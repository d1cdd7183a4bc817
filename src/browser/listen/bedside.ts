import type { PlannedPerson, PlannedSession } from '../../listening/plan.js';
import { minuteMs } from '../../time/units.js';
import type { TodaysSession } from './today.js';

/** How a tablet beside the bed calls: every minute, a little louder each time, and not for ever. Our choice. */
const callsForMinutes = 10;
/** The voice says who and what with these calls; a chime alone comes with the others. */
const spokenAtMinutes: readonly number[] = [0, 5];
/** A session that no one began for so long no longer lights up the room; it can still be begun from the first view. */
const shownForMinutes = 120;

export type AtBedside = { person: PlannedPerson; isHeld: boolean; sessions: readonly TodaysSession[] };
type Someones = { person: PlannedPerson; session: PlannedSession };

/** `minute` counts from the time at which it was due. */
export type Moment =
  | ({ kind: 'due'; minute: number } & Someones)
  | { kind: 'waiting'; next: Someones | null };

/** What a tablet beside the bed shows at a moment; the session that has waited longest comes first. */
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

/** Whether and how it calls in a minute after the due time; `strength` goes from above 0 to 1. */
export function callAt(minute: number): { strength: number; isSpoken: boolean } | null {
  if (minute >= callsForMinutes) return null;
  return { strength: (minute + 1) / callsForMinutes, isSpoken: spokenAtMinutes.includes(minute) };
}
