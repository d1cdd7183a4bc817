import type { Timetable } from '../prescription/content.js';
import { type Break, type Rhythm, rhythmOf, slotsOf, weekdaysOffered } from './slots.js';
import { addDays, isoDayIn, isShownTwice, localTimeIn } from './wallClock.js';

/** All that ever bore on when one prescription is to be done, each with the moment from which on it did. */
export type PlanHistory = {
  prescriptionId: string;
  /** IANA zone of the patient; where they lived before is not kept. */
  zone: string;
  /** Grows whenever the zone changes; it may grow more often. */
  zoneRevision: number;
  versions: readonly { number: number; signedAtMs: number; timetable: Timetable }[];
  states: readonly { state: 'active' | 'paused' | 'ended'; atMs: number }[];
  /** Also those that were taken back. */
  breaks: readonly (Break & { createdAtMs: number; removedAtMs: number | null })[];
  /**
   * Warning signs: nothing is to be done until someone has answered; and stretches in which the program could not be
   * played.
   */
  holds: readonly { fromMs: number; untilMs: number | null }[];
};

/** A session as a calendar holds it: one for each slot that is planned, or was when a calendar could show it. */
export type Occurrence = {
  /** Stays the same for ever; no name, nothing that tells what it is about. */
  uid: string;
  slot: string;
  /** `YYYY-MM-DD` in the patient's zone. */
  day: string;
  startsAtMs: number;
  /** `YYYY-MM-DDTHH:MM` as clocks in the patient's zone show it. */
  localStart: string;
  /** Clocks are set back over it: the local time by itself would mean two moments. */
  isShownTwice: boolean;
  /** The version that planned it. */
  versionNumber: number;
  /** On how many days of its week it is to be done, of more that are offered; null when on all of them. */
  daysToChoose: number | null;
  isCancelled: boolean;
  /** Grows with every change of this occurrence, never falls (RFC 5545, section 3.8.7.4). */
  sequence: number;
  /** When the change came that made it what it is. */
  lastChangedAtMs: number;
};

/** How far a calendar reaches from today on, in days. */
export type Reach = { backDays: number; aheadDays: number };

/**
 * The sessions of a prescription as a calendar shows them at a moment, in the order of their times.
 *
 * A change holds from its moment on: what lay before it stays as it was, and what it takes off the plan stays as
 * canceled, when it came into the calendar's reach before. So whoever reads the calendar again sees every change.
 */
export function occurrencesOf(history: PlanHistory, nowMs: number, reach: Reach): Occurrence[] {
  const today = isoDayIn(nowMs, history.zone);
  const firstDay = addDays(today, -reach.backDays);
  const stretches = stretchesOf(history, nowMs, reach).filter(
    ({ shownUntilDay }) => shownUntilDay >= firstDay,
  );
  const found: Occurrence[] = [];
  for (let day = firstDay; day <= addDays(today, reach.aheadDays); day = addDays(day, 1)) {
    found.push(...occurrencesOfDay(history, day, stretches));
  }
  return found.sort((a, b) => a.startsAtMs - b.startsAtMs || (a.uid < b.uid ? -1 : 1));
}

/** From one change to the next, with what was planned in the meantime; null for nothing. */
type Stretch = {
  sinceMs: number;
  sinceDay: string;
  /** How many changes there had been. */
  changes: number;
  /** The last day that a calendar showed in the meantime. */
  shownUntilDay: string;
  plan: { versionNumber: number; rhythm: Rhythm } | null;
};

function stretchesOf(history: PlanHistory, nowMs: number, { aheadDays }: Reach): Stretch[] {
  const changes = changesOf(history)
    .filter((atMs) => atMs <= nowMs)
    .sort((a, b) => a - b);
  const moments = [...new Set(changes)];
  return moments.map((sinceMs, index) => ({
    sinceMs,
    sinceDay: isoDayIn(sinceMs, history.zone),
    changes: changes.lastIndexOf(sinceMs) + 1,
    shownUntilDay: addDays(isoDayIn(moments[index + 1] ?? nowMs, history.zone), aheadDays),
    plan: planAt(history, sinceMs),
  }));
}

function changesOf({ versions, states, breaks, holds }: PlanHistory): number[] {
  return [
    ...versions.map(({ signedAtMs }) => signedAtMs),
    ...states.map(({ atMs }) => atMs),
    ...breaks.flatMap(({ createdAtMs, removedAtMs }) => [createdAtMs, removedAtMs ?? []].flat()),
    ...holds.flatMap(({ fromMs, untilMs }) => [fromMs, untilMs ?? []].flat()),
  ];
}

function planAt({ zone, versions, states, breaks, holds }: PlanHistory, atMs: number): Stretch['plan'] {
  const signed = versions
    .filter(({ signedAtMs }) => signedAtMs <= atMs)
    .sort((a, b) => b.signedAtMs - a.signedAtMs || b.number - a.number);
  const [version] = signed;
  const state = newestBy(states, (change) => change.atMs, atMs)?.state ?? 'active';
  const isHeld = holds.some(({ fromMs, untilMs }) => fromMs <= atMs && atMs < (untilMs ?? Infinity));
  if (version === undefined || state !== 'active' || isHeld) return null;
  const standing = breaks.filter(
    ({ createdAtMs, removedAtMs }) => createdAtMs <= atMs && atMs < (removedAtMs ?? Infinity),
  );
  const rhythm = rhythmOf(signed, { zone, breaks: standing });
  return rhythm === null ? null : { versionNumber: version.number, rhythm };
}

function newestBy<Item>(items: readonly Item[], timeOf: (item: Item) => number, atMs: number) {
  return [...items]
    .sort((a, b) => timeOf(a) - timeOf(b))
    .filter((item) => timeOf(item) <= atMs)
    .at(-1);
}

function occurrencesOfDay(history: PlanHistory, day: string, stretches: readonly Stretch[]): Occurrence[] {
  const found = new Map<string, Occurrence>();
  // A stretch that began on a later day leaves this one as it was.
  const bearing = stretches.filter(({ sinceDay, shownUntilDay }) => sinceDay <= day && day <= shownUntilDay);
  for (const stretch of bearing) {
    const planned = new Map(plannedOn(history, day, stretch).map((each) => [each.slot, each]));
    for (const slot of new Set([...found.keys(), ...planned.keys()])) {
      const next = changedBy(stretch, found.get(slot), planned.get(slot), history.zoneRevision);
      if (next !== undefined) found.set(slot, next);
    }
  }
  return [...found.values()];
}

/** What is to be done on a day by the plan of a stretch, from its first moment on. */
function plannedOn(
  { prescriptionId, zone, zoneRevision }: PlanHistory,
  day: string,
  { sinceMs, changes, plan }: Stretch,
): Occurrence[] {
  if (plan === null) return [];
  const { rhythm, versionNumber } = plan;
  return slotsOf(rhythm, day)
    .filter(({ dueAtMs }) => dueAtMs >= sinceMs)
    .map(({ slot, dueAtMs }) => ({
      uid: `${slot.replace('#', '-')}.${prescriptionId}@stillcount`,
      slot,
      day,
      startsAtMs: dueAtMs,
      localStart: localTimeIn(dueAtMs, zone),
      isShownTwice: isShownTwice(dueAtMs, zone),
      versionNumber,
      daysToChoose: daysToChooseOf(rhythm),
      isCancelled: false,
      sequence: changes + zoneRevision,
      lastChangedAtMs: sinceMs,
    }));
}

/** What became of an occurrence when another stretch began. */
function changedBy(
  { sinceMs, changes }: Stretch,
  before: Occurrence | undefined,
  planned: Occurrence | undefined,
  zoneRevision: number,
): Occurrence | undefined {
  if (before === undefined) return planned;
  const isOver = before.startsAtMs < sinceMs && !before.isCancelled;
  if (isOver) return before;
  if (planned === undefined) {
    if (before.isCancelled) return before;
    return { ...before, isCancelled: true, sequence: changes + zoneRevision, lastChangedAtMs: sinceMs };
  }
  return isTheSame(before, planned) ? before : planned;
}

function isTheSame(before: Occurrence, planned: Occurrence): boolean {
  return (
    before.startsAtMs === planned.startsAtMs &&
    !before.isCancelled &&
    before.versionNumber === planned.versionNumber
  );
}

function daysToChooseOf(rhythm: Rhythm): number | null {
  return rhythm.daysAWeek < weekdaysOffered(rhythm).length ? rhythm.daysAWeek : null;
}
