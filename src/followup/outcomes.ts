import { isDone, type Listened } from '../listening/listened.js';
import { isUnwell, type NotTodayReason } from '../listening/report.js';
import type { Occurrence } from '../schedule/calendar.js';
import { dayOfSlot } from '../schedule/slots.js';
import { isoDayIn } from '../schedule/wallClock.js';
import { withFreeDays } from './freeDays.js';
import type { CheckInGiven, Outcome, VersionHistory } from './history.js';
import { durationMsOf } from './times.js';

/**
 * A playback that was not stopped or ended, and about which nothing was reported for this long, is over. Our choice.
 */
const silentMs = 60 * 60_000;

/** What happened with one program, in any order; duplicates are allowed. */
export type Happened = {
  prescriptionId: string;
  /** IANA zone of the patient. */
  zone: string;
  nowMs: number;
  /** Every planned slot up to now, including canceled ones, and those of the next six days. */
  occurrences: readonly Occurrence[];
  versions: readonly Pick<VersionHistory, 'number' | 'durationMs' | 'easier'>[];
  listened: readonly Listened[];
  checkIns: readonly SlotCheckIn[];
  /** For all of the patient's programs: being unwell applies to all of them. */
  putOff: readonly PutOff[];
  /** Slots downloaded by another player, which cannot be heard here. */
  fetchedSlots: ReadonlySet<string>;
};

export type SlotCheckIn = CheckInGiven & { slot: string; versionNumber: number };

export type PutOff = {
  id: string;
  prescriptionId: string;
  slot: string;
  reason: NotTodayReason;
  atMs: number;
};

/**
 * The outcome of every session of a program planned up to now, and of every other one that was started or reported, in
 * order of time. The result does not depend on the order of events or on duplicates.
 *
 * A slot that is not over is left out: one of today without any event yet, and one that is still being played.
 */
export function outcomesOf(happened: Happened): Outcome[] {
  const { occurrences, nowMs, zone } = happened;
  const reportsBySlot = bySlot(happened);
  const planned = new Map(occurrences.map((each) => [each.slot, each]));
  const slots = [...new Set([...planned.keys(), ...reportsBySlot.keys()])].sort();
  const today = isoDayIn(nowMs, zone);
  const found = slots.flatMap((slot) => {
    const occurrence = planned.get(slot);
    const what = reportsBySlot.get(slot) ?? nothing;
    if (!isOver(happened, { slot, today, occurrence, what })) return [];
    const outcome = outcomeOf(happened, slot, occurrence, what);
    return outcome === null ? [] : [outcome];
  });
  return withFreeDays(found, occurrences, today).sort(byTime);
}

/** What was reported about one slot, each once, in an order that does not depend on how it arrived. */
type SlotReports = { listened: Listened[]; checkIns: SlotCheckIn[]; putOff: PutOff[] };
const nothing: SlotReports = { listened: [], checkIns: [], putOff: [] };

function bySlot({ prescriptionId, listened, checkIns, putOff }: Happened): Map<string, SlotReports> {
  const reportsBySlot = new Map<string, SlotReports>();
  const at = (slot: string): SlotReports => {
    const known = reportsBySlot.get(slot) ?? { listened: [], checkIns: [], putOff: [] };
    reportsBySlot.set(slot, known);
    return known;
  };
  const once = <Item>(items: readonly Item[], idOf: (item: Item) => string, atOf: (item: Item) => number) =>
    [...new Map(items.map((item) => [idOf(item), item])).values()].sort(
      (a, b) => atOf(a) - atOf(b) || (idOf(a) < idOf(b) ? -1 : 1),
    );
  for (const each of once(
    listened,
    ({ listeningId }) => listeningId,
    ({ startedAtMs }) => startedAtMs,
  ))
    at(each.slot).listened.push(each);
  for (const each of once(
    checkIns,
    ({ id }) => id,
    ({ atMs }) => atMs,
  ))
    at(each.slot).checkIns.push(each);
  const own = putOff.filter((each) => each.prescriptionId === prescriptionId);
  for (const each of once(
    own,
    ({ id }) => id,
    ({ atMs }) => atMs,
  ))
    at(each.slot).putOff.push(each);
  return reportsBySlot;
}

type Seen = { slot: string; today: string; occurrence: Occurrence | undefined; what: SlotReports };

function isOver(happened: Happened, { slot, today, occurrence, what }: Seen): boolean {
  if (what.listened.some((each) => isStillHeard(happened, each))) return false;
  const day = dayOfSlot(slot);
  if (day < today || what.listened.length + what.checkIns.length > 0) return true;
  // A future one that was skipped can still be done.
  if (day > today) return false;
  return (
    what.putOff.length > 0 || (occurrence?.isCancelled === true && occurrence.startsAtMs <= happened.nowMs)
  );
}

function isStillHeard(happened: Happened, listened: Listened): boolean {
  const { finishedAtMs, stoppedAtMs, lastAtMs } = listened;
  if (finishedAtMs !== null || isThrough(happened, listened)) return false;
  const isStopped = stoppedAtMs !== null && stoppedAtMs >= lastAtMs;
  return !isStopped && happened.nowMs - lastAtMs < silentMs;
}

function isThrough({ versions }: Happened, listened: Listened): boolean {
  const version = versions.find(({ number }) => number === listened.versionNumber);
  return isDone(listened, durationMsOf(version, listened));
}

/** Null for a slot that no plan contained and that was neither started nor reported, only skipped. */
function outcomeOf(
  happened: Happened,
  slot: string,
  occurrence: Occurrence | undefined,
  { listened, checkIns, putOff }: SlotReports,
): Outcome | null {
  const through = listened.filter((each) => isThrough(happened, each));
  const first = listened[0]?.startedAtMs ?? checkIns[0]?.atMs;
  const dueAtMs = occurrence?.startsAtMs ?? first;
  if (dueAtMs === undefined) return null;
  // The one that counts: the last of those heard through, else the last one started.
  const versionNumber =
    (through.at(-1) ?? listened.at(-1))?.versionNumber ??
    checkIns.at(-1)?.versionNumber ??
    occurrence?.versionNumber;
  if (versionNumber === undefined) return null;
  const reports = { hasBegun: listened.length > 0, isThrough: through.length > 0, checkIns };
  const isWanted = occurrence !== undefined && wasWanted(occurrence, first);
  return {
    slot,
    day: dayOfSlot(slot),
    // What was canceled after it was started had been scheduled when it was done.
    isPlanned: isWanted || (occurrence !== undefined && first === undefined),
    dueAtMs,
    versionNumber,
    ...kindOf(reports, { isWanted, isUnwell: wasUnwell(happened, slot, dueAtMs) }),
    putOff: putOff.at(-1)?.reason ?? null,
    listened,
    checkIns: checkIns.map(({ id, atMs, answers, caregiverId }) => ({ id, atMs, answers, caregiverId })),
    isContradictory: isContradictory(reports, happened.fetchedSlots.has(slot)),
  };
}

function wasWanted({ isCancelled, lastChangedAtMs }: Occurrence, firstAtMs: number | undefined): boolean {
  return !isCancelled || (firstAtMs !== undefined && firstAtMs < lastChangedAtMs);
}

/** Skipped in pain or unwell: that session, the later ones of its day, and everything still ahead on that day. */
function wasUnwell(
  { prescriptionId, putOff, occurrences }: Happened,
  slot: string,
  dueAtMs: number,
): boolean {
  return putOff.some((each) => {
    if (!isUnwell(each.reason) || dayOfSlot(each.slot) !== dayOfSlot(slot)) return false;
    if (each.prescriptionId !== prescriptionId) return each.atMs <= dueAtMs;
    // Not by number: the numbers of a day are out of order if its times were changed.
    const putOffDueAtMs = occurrences.find((occurrence) => occurrence.slot === each.slot)?.startsAtMs;
    return (putOffDueAtMs ?? each.atMs) <= dueAtMs;
  });
}

type Reports = { hasBegun: boolean; isThrough: boolean; checkIns: readonly SlotCheckIn[] };

function kindOf(
  reports: Reports,
  { isWanted, isUnwell: wasIll }: { isWanted: boolean; isUnwell: boolean },
): Pick<Outcome, 'kind' | 'excuse'> {
  const { hasBegun, isThrough: heardAll } = reports;
  const amounts = amountsOf(reports);
  if (heardAll || (!hasBegun && amounts.has('all'))) return { kind: 'done', excuse: null };
  if (hasBegun || amounts.has('most') || amounts.has('some')) return { kind: 'partly', excuse: null };
  if (!isWanted) return { kind: 'excused', excuse: 'off-plan' };
  return wasIll ? { kind: 'excused', excuse: 'unwell' } : { kind: 'missed', excuse: null };
}

function amountsOf({ checkIns }: Reports) {
  return new Set(checkIns.flatMap(({ answers }) => answers.done ?? []));
}

/** What another player played cannot be heard here, so reporting it as done contradicts nothing. */
function isContradictory(reports: Reports, isFetched: boolean): boolean {
  const amounts = amountsOf(reports);
  const allButUnheard = amounts.has('all') && !reports.isThrough && (reports.hasBegun || !isFetched);
  const noneButHeard = amounts.has('none') && reports.isThrough;
  return allButUnheard || noneButHeard || (amounts.has('all') && amounts.has('none'));
}

function byTime(a: Outcome, b: Outcome): number {
  return a.dueAtMs - b.dueAtMs || (a.slot < b.slot ? -1 : 1);
}
