import type { SessionState } from '../listening/plan.js';
import { dayOfSlot, type Rhythm, type Slot, slotsOf } from './slots.js';
import { addDays, isoDayIn, mondayOf, startOfDayMs } from './wallClock.js';

/** How long before its time a session may be started, for listeners who get up early. Our choice; no source. */
const earlyMs = 2 * 3_600_000;
/** Least time between the end of one session and the start of the next, to recover. Our choice; no source. */
export const restMs = 3 * 3_600_000;
const daysShown = 3;

/** The result of a slot that someone listened to. */
export type Heard = 'done' | 'begun';

export type PlannedInput = {
  rhythm: Rhythm;
  nowMs: number;
  /** When the program took effect. Sessions whose time ended before then are not shown. */
  sinceMs: number;
  /** When the last session of the program ended, or null; the next one becomes due only some hours later. */
  lastDoneAtMs: number | null;
  /** Results by slot, for the whole week, so that its days can be counted. */
  heard: ReadonlyMap<string, Heard>;
  /** Slots and whole days that were postponed. */
  notToday: ReadonlySet<string>;
};

/** A slot is current from `opensAtMs`, inclusive, to `closesAtMs`, exclusive. */
export type PlannedSlot = Slot & { opensAtMs: number; closesAtMs: number; state: SessionState };

export type PlannedDays = {
  /** Today, in the listener's zone. */
  day: string;
  /** Whether sessions were done on as many days of this week as prescribed, so that its other days are free. */
  weekIsDone: boolean;
  slots: PlannedSlot[];
};

/**
 * Returns the slots of today and the next two days, in order of time, each with its state. No two are due at once: a
 * slot stays current until the next one is, or the day ends. Days that are free because enough of their week is done
 * are left out, except for slots that were listened to or postponed.
 */
export function plannedStates(input: PlannedInput): PlannedDays {
  const { rhythm, nowMs } = input;
  const day = isoDayIn(nowMs, rhythm.zone);
  const days = Array.from({ length: daysShown }, (_, ahead) => addDays(day, ahead));
  return {
    day,
    weekIsDone: rhythm.daysAWeek < 7 && otherDaysDone(input, day, undefined) >= rhythm.daysAWeek,
    slots: days.flatMap((each) => slotsOfDay(input, each)),
  };
}

/** Rule R6: at most one slot is current, and none until the listener has rested long enough since the last session. */
function slotsOfDay(input: PlannedInput, day: string): PlannedSlot[] {
  const { rhythm, nowMs, sinceMs } = input;
  const isFree = isFreeDay(rhythm, input.heard, day);
  const restedMs = input.lastDoneAtMs === null ? 0 : input.lastDoneAtMs + restMs;
  return windowsOf(rhythm, day).flatMap((each): PlannedSlot[] => {
    const opensAtMs = Math.min(each.closesAtMs, Math.max(each.opensAtMs, restedMs));
    const window = { ...each, opensAtMs };
    const happened = whatHappened(input, window.slot);
    if (happened !== undefined) return [{ ...window, state: happened }];
    const state = byTheClock(window, nowMs);
    // A session due before the program took effect may still be done that day, but never counts as missed.
    const isBefore = window.closesAtMs <= sinceMs || (window.dueAtMs < sinceMs && state === 'missed');
    return isFree || isBefore ? [] : [{ ...window, state }];
  });
}

/** Returns whether a day is free because enough other days of its week are done. */
export function isFreeDay(
  { daysAWeek }: Pick<Rhythm, 'daysAWeek'>,
  heard: ReadonlyMap<string, Heard>,
  day: string,
): boolean {
  return daysAWeek < 7 && otherDaysDone({ heard }, day, day) >= daysAWeek;
}

type Window = Omit<PlannedSlot, 'state'>;

function windowsOf(rhythm: Rhythm, day: string): Window[] {
  const slots = slotsOf(rhythm, day);
  const opensAtMs = slots.map(({ dueAtMs }, index) => {
    const before = slots[index - 1];
    // Where two are close together, the earlier one keeps half the time between them.
    const earliestMs =
      before === undefined ? startOfDayMs(day, rhythm.zone) : Math.ceil((before.dueAtMs + dueAtMs) / 2);
    return Math.max(earliestMs, dueAtMs - earlyMs);
  });
  const endMs = startOfDayMs(addDays(day, 1), rhythm.zone);
  return slots.map((slot, index) => ({
    ...slot,
    opensAtMs: opensAtMs[index] ?? slot.dueAtMs,
    closesAtMs: opensAtMs[index + 1] ?? endMs,
  }));
}

function whatHappened({ heard, notToday }: PlannedInput, slot: string): SessionState | undefined {
  const isPutOff = notToday.has(slot) || notToday.has(dayOfSlot(slot));
  return heard.get(slot) ?? (isPutOff ? 'skipped' : undefined);
}

function byTheClock({ opensAtMs, closesAtMs }: Window, nowMs: number): SessionState {
  if (nowMs < opensAtMs) return 'later';
  return nowMs < closesAtMs ? 'due' : 'missed';
}

/** Counts the days of a week on which a session was done, leaving out one day. */
function otherDaysDone(
  { heard }: Pick<PlannedInput, 'heard'>,
  day: string,
  except: string | undefined,
): number {
  const monday = mondayOf(day);
  const done = [...heard].filter(([, what]) => what === 'done').map(([slot]) => dayOfSlot(slot));
  return new Set(done.filter((each) => each !== except && mondayOf(each) === monday)).size;
}
