import type { Timetable } from '../prescription/content.js';
import { type Break, type Rhythm, rhythmOf, slotsOf, weekdaysOffered } from './slots.js';
import { addDays, isoDayIn, isShownTwice, localTimeIn } from './wallClock.js';

/**
 * Everything that has ever affected when one prescription's sessions are due, each with the instant from which it
 * applied.
 */
export type PlanHistory = {
  prescriptionId: string;
  /** The patient's IANA zone; earlier zones are not stored. */
  zone: string;
  /** Increases whenever the zone changes; it may also increase at other times. */
  zoneRevision: number;
  versions: readonly { number: number; signedAtMs: number; timetable: Timetable }[];
  states: readonly { state: 'active' | 'paused' | 'ended'; atMs: number }[];
  /** All breaks, including those that were removed again. */
  breaks: readonly (Break & { createdAtMs: number; removedAtMs: number | null })[];
  /**
   * Periods in which no session is due: from a warning sign until a clinician answers it, and while the program cannot
   * be played.
   */
  holds: readonly { fromMs: number; untilMs: number | null }[];
};

/**
 * A session as it appears in a calendar: one for each slot that is planned, or was planned while a calendar could show
 * it.
 */
export type Occurrence = {
  /** Never changes. Contains no name and nothing that reveals what the session is about. */
  uid: string;
  slot: string;
  /** `YYYY-MM-DD` in the patient's zone. */
  day: string;
  startsAtMs: number;
  /** `YYYY-MM-DDTHH:MM` as clocks in the patient's zone show it. */
  localStart: string;
  /** Whether clocks are set back over it, so that the local time alone is ambiguous. */
  isShownTwice: boolean;
  /** The version that planned it. */
  versionNumber: number;
  /** On how many days of its week sessions are prescribed, when more days are offered; null when on all of them. */
  daysToChoose: number | null;
  isCancelled: boolean;
  /** Increases with every change of this occurrence, never decreases (RFC 5545, section 3.8.7.4). */
  sequence: number;
  /** When the change was made that gave it its current form. */
  lastChangedAtMs: number;
};

/** How many days before and after today a calendar covers. */
export type Reach = { backDays: number; aheadDays: number };

/**
 * Returns the sessions of a prescription as a calendar shows them at an instant, in order of time.
 *
 * A change applies from its instant on. Earlier sessions stay as they were. Sessions that it removes stay in the
 * calendar as canceled if a calendar could already have shown them, so that a calendar that is fetched again sees every
 * change.
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

/** The period from one change to the next, with the plan during it; the plan is null when nothing is planned. */
type Stretch = {
  sinceMs: number;
  sinceDay: string;
  /** Number of changes up to then. */
  changes: number;
  /** The last day that a calendar showed during this period. */
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
  // A period that begins on a later day does not affect this day.
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

/** Returns the sessions that a period's plan has on a day, from the start of the period on. */
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

/** Returns what becomes of an occurrence when another period begins. */
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
