import Mustache from 'mustache';
import { z } from 'zod';
import { type Timetable, type Weekday, weekdays } from '../prescription/content.js';
import { timeOfDayInWords } from '../prescription/datesInWords.js';
import { timesOn, weekdaysOffered } from './slots.js';

const word = z.string().min(1);

/** The words of a timetable. All are Mustache templates except the weekdays. */
export const scheduleWordsSchema = z.strictObject({
  /** Language tag for dates and lists. */
  language: word,
  /** As in "Mondays". */
  eachWeekday: z.record(z.enum(weekdays), word),
  /** {{from}}, {{until}} */
  weekdaysFromTo: word,
  /** {{times}} */
  everyDay: word,
  /** {{days}}, {{times}} */
  onDays: word,
  /** {{days}} */
  notOnDays: word,
  notOnOthers: word,
  /** {{count}}, {{isOne}}, {{times}} */
  daysOfWeek: word,
  /** {{count}}, {{isOne}}, {{when}} */
  daysOfThese: word,
  /** {{from}}, {{until}}, {{isOneDay}} */
  span: word,
  /** {{day}} */
  review: word,
});
export type ScheduleWords = z.infer<typeof scheduleWordsSchema>;

export type TimetableInWords = {
  /** The days and times. */
  when: string;
  /** The first and last day; null without either. */
  span: string | null;
  /** The review date; null without one. */
  review: string | null;
};

/**
 * Puts a timetable into plain words, for example "Mondays to Fridays at 8:00 AM; Sundays at 10:00 AM; not on
 * Saturdays".
 */
export function timetableInWords(timetable: Timetable, words: ScheduleWords): TimetableInWords {
  const { startsOn, endsOn, reviewOn } = timetable;
  return {
    when: whenInWords(timetable, words),
    span: spanInWords({ fromDay: startsOn, untilDay: endsOn }, words),
    review: reviewOn === null ? null : filled(words.review, { day: dateOf(reviewOn, words) }),
  };
}

/** Puts a range of days into words; null when it has neither a first nor a last day. Days are `YYYY-MM-DD`. */
export function spanInWords(
  { fromDay, untilDay }: { fromDay: string | null; untilDay: string | null },
  words: ScheduleWords,
): string | null {
  if (fromDay === null && untilDay === null) return null;
  return filled(words.span, {
    from: fromDay === null ? null : dateOf(fromDay, words),
    until: untilDay === null ? null : dateOf(untilDay, words),
    isOneDay: fromDay === untilDay,
  });
}

function whenInWords(timetable: Timetable, words: ScheduleWords): string {
  const groups = groupsOf(timetable);
  const offered = weekdaysOffered(timetable);
  const count = timetable.daysAWeek;
  const chooses = count < offered.length;
  const [first] = groups;
  if (first !== undefined && groups.length === 1 && offered.length === weekdays.length) {
    const times = timesInWords(first.times, words);
    return chooses
      ? filled(words.daysOfWeek, { count, isOne: count === 1, times })
      : filled(words.everyDay, { times });
  }
  const free = weekdays.filter((weekday) => !offered.includes(weekday));
  const parts = groups.map(({ days, times }) =>
    filled(words.onDays, { days: daysInWords(days, words), times: timesInWords(times, words) }),
  );
  const when = [...parts, ...freeInWords(free, words)].join('; ');
  return chooses ? filled(words.daysOfThese, { count, isOne: count === 1, when }) : when;
}

type Group = { days: Weekday[]; times: readonly string[] };

/** Groups weekdays that have the same times, in the order of the week. */
function groupsOf(timetable: Timetable): Group[] {
  const groups = new Map<string, Group>();
  for (const weekday of weekdaysOffered(timetable)) {
    const times = timesOn(timetable, weekday);
    const group = groups.get(times.join()) ?? { days: [], times };
    group.days.push(weekday);
    groups.set(times.join(), group);
  }
  return [...groups.values()];
}

/** Up to two days off are named; with more, the text says that there are none on the other days. */
const mostFreeNamed = 2;

function freeInWords(free: readonly Weekday[], words: ScheduleWords): string[] {
  if (free.length === 0) return [];
  if (free.length > mostFreeNamed) return [words.notOnOthers];
  return [filled(words.notOnDays, { days: daysInWords(free, words) })];
}

/** Puts weekdays into words; three or more in a row become a range. */
function daysInWords(days: readonly Weekday[], words: ScheduleWords): string {
  const named = runsOf(days).flatMap((run) => {
    const [from, until] = [run[0], run.at(-1)];
    if (run.length < 3 || from === undefined || until === undefined) {
      return run.map((each) => words.eachWeekday[each]);
    }
    const view = { from: words.eachWeekday[from], until: words.eachWeekday[until] };
    return [filled(words.weekdaysFromTo, view)];
  });
  return listOf(named, words);
}

function runsOf(days: readonly Weekday[]): Weekday[][] {
  const runs: Weekday[][] = [];
  for (const day of days) {
    const last = runs.at(-1);
    const before = last?.at(-1);
    if (
      last !== undefined &&
      before !== undefined &&
      weekdays.indexOf(day) === weekdays.indexOf(before) + 1
    ) {
      last.push(day);
    } else runs.push([day]);
  }
  return runs;
}

function timesInWords(times: readonly string[], words: ScheduleWords): string {
  return listOf(
    times.map((time) => timeOfDayInWords(time, words.language)),
    words,
  );
}

function listOf(items: readonly string[], { language }: ScheduleWords): string {
  return new Intl.ListFormat(language).format(items);
}

function dateOf(day: string, { language }: ScheduleWords): string {
  const atMs = Date.parse(`${day}T12:00:00Z`);
  return new Intl.DateTimeFormat(language, { timeZone: 'UTC', dateStyle: 'long' }).format(atMs);
}

function filled(template: string, view: object): string {
  return Mustache.render(template, view, {}, { escape: (value: unknown) => String(value) });
}
