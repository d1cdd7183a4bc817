import type { SessionState } from '../listening/plan.js';
import { dayOfSlot, type Rhythm, type Slot, slotsOf } from './slots.js';
import { addDays, isoDayIn, mondayOf, startOfDayMs } from './wallClock.js';

/** How long before its time a session may be begun, for those who are up early. Our choice; no source. */
const earlyMs = 2 * 3_600_000;
/** Between the end of one session and the beginning of the next: time to recover. Our choice; no source. */
export const restMs = 3 * 3_600_000;
const daysShown = 3;

/** What came of a slot, as far as it was listened to. */
export type Heard = 'done' | 'begun';

export type PlannedInput = {
  rhythm: Rhythm;
  nowMs: number;
  /** When the program began to hold. What was over before then is not shown. */
  sinceMs: number;
  /** When the last session of the program was over, or null: the next one is for now only some hours later. */
  lastDoneAtMs: number | null;
  /** By slot; of the whole week, so that its days can be counted. */
  heard: ReadonlyMap<string, Heard>;
  /** Slots, and whole days, that were put off. */
  notToday: ReadonlySet<string>;
};

/** A slot is for now from `opensAtMs`, inclusive, to `closesAtMs`, exclusive. */
export type PlannedSlot = Slot & { opensAtMs: number; closesAtMs: number; state: SessionState };

export type PlannedDays = {
  /** Today, in the listener's zone. */
  day: string;
  /** As many days of this week as are prescribed have a session that was done: the other days of it are free. */
  weekIsDone: boolean;
  slots: PlannedSlot[];
};

/**
 * The slots of today and the next two days, in the order of their times, each with its state. No two are due at once:
 * a slot is for now until the next one is, or the day ends. Days that are free because enough of their week is done
 * are left out, but for what was listened to or put off on them.
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

/** Rule R6: at most one slot is for now, and none before the last session is over for long enough. */
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
    // What was due before the program began may still be done that day; no one is told to have missed it.
    const isBefore = window.closesAtMs <= sinceMs || (window.dueAtMs < sinceMs && state === 'missed');
    return isFree || isBefore ? [] : [{ ...window, state }];
  });
}

/** Whether a day is free because enough other days of its week are done. */
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
    // Where two are close to each other, the one before keeps half the time between them.
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

/** On how many days of a day's week something was done, one of them not counted. */
function otherDaysDone(
  { heard }: Pick<PlannedInput, 'heard'>,
  day: string,
  except: string | undefined,
): number {
  const monday = mondayOf(day);
  const done = [...heard].filter(([, what]) => what === 'done').map(([slot]) => dayOfSlot(slot));
  return new Set(done.filter((each) => each !== except && mondayOf(each) === monday)).size;
}
