import { type Break, isInBreak, type Rhythm, slotsOf } from './slots.js';
import { addDays, mondayOf, timeOfDayIn } from './wallClock.js';

/** Why nothing is due on a day. `free` means that this weekday has no session. */
type NothingDue = 'before-start' | 'after-end' | 'in-a-break' | 'free';

export type MonthDay<OfBreak extends Break> = {
  /** `YYYY-MM-DD`. */
  day: string;
  /** 1 to 31. */
  dayOfMonth: number;
  /** Whether the day is in the month: the first and the last week can also contain days of the neighboring months. */
  isInMonth: boolean;
  /** `HH:MM` local time in the listener's zone. */
  sessions: readonly { slot: string; time: string }[];
  /** Null when something is due. */
  whyNone: NothingDue | null;
  /** The break that the day falls in, or null. */
  inBreak: OfBreak | null;
  isReviewDay: boolean;
};

type RhythmToShow<OfBreak extends Break> = Omit<Rhythm, 'breaks'> & {
  breaks: readonly OfBreak[];
  reviewOn: string | null;
};

/**
 * Returns a month as a calendar shows it: whole weeks of seven days, Monday first (ISO 8601).
 *
 * @param month `YYYY-MM`
 */
export function monthOf<OfBreak extends Break>(
  rhythm: RhythmToShow<OfBreak>,
  month: string,
): MonthDay<OfBreak>[][] {
  const weeks: MonthDay<OfBreak>[][] = [];
  const firstDay = `${month}-01`;
  for (let monday = mondayOf(firstDay); monday <= lastDayOf(month); monday = addDays(monday, 7)) {
    const days = Array.from({ length: 7 }, (_, ahead) => addDays(monday, ahead));
    weeks.push(days.map((day) => dayOf(rhythm, day, month)));
  }
  return weeks;
}

/** Returns the month `months` after another, or before it when negative. Months are `YYYY-MM`. */
export function addMonths(month: string, months: number): string {
  const [year = 0, number = 1] = month.split('-').map(Number);
  const count = year * 12 + number - 1 + months;
  const padded = (value: number, length: number) => String(value).padStart(length, '0');
  return `${padded(Math.floor(count / 12), 4)}-${padded((count % 12) + 1, 2)}`;
}

function lastDayOf(month: string): string {
  return addDays(`${addMonths(month, 1)}-01`, -1);
}

function dayOf<OfBreak extends Break>(
  rhythm: RhythmToShow<OfBreak>,
  day: string,
  month: string,
): MonthDay<OfBreak> {
  const sessions = slotsOf(rhythm, day).map(({ slot, dueAtMs }) => ({
    slot,
    time: timeOfDayIn(dueAtMs, rhythm.zone),
  }));
  return {
    day,
    dayOfMonth: Number(day.slice(8)),
    isInMonth: day.startsWith(month),
    sessions,
    whyNone: sessions.length > 0 ? null : whyNone(rhythm, day),
    inBreak: rhythm.breaks.find((each) => isInBreak([each], day)) ?? null,
    isReviewDay: day === rhythm.reviewOn,
  };
}

function whyNone({ startsOn, endsOn, breaks }: Rhythm, day: string): NothingDue {
  if (startsOn !== null && day < startsOn) return 'before-start';
  if (endsOn !== null && day > endsOn) return 'after-end';
  return isInBreak(breaks, day) ? 'in-a-break' : 'free';
}
