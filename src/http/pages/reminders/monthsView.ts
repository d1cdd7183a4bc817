import type { RunningProgram } from '../../../clinic/reminding/runningPrograms.js';
import { weekdays } from '../../../prescription/content.js';
import { timeOfDayInWords } from '../../../prescription/datesInWords.js';
import { addMonths, type MonthDay, monthOf } from '../../../schedule/month.js';
import type { Break } from '../../../schedule/slots.js';
import { isoDayIn } from '../../../schedule/wallClock.js';
import type { CareBreak } from '../../../store/people/chart.js';
import { dateInWords, monthInWords } from '../../../text/dates.js';
import type { Words } from '../../../text/words.js';

/** This month and the next. */
const monthsShown = 2;

type Shown = { programs: readonly RunningProgram[]; breaks: readonly CareBreak[]; words: Words };
/** A note on a day, or several days, besides their sessions. */
type Mark = { fromDay: string; untilDay: string | null; what: string };

/** The sessions of all programs on one calendar, with breaks, first and last days and review dates. */
export function monthsView(shown: Shown, { zone, nowMs }: { zone: string; nowMs: number }): object {
  const today = isoDayIn(nowMs, zone);
  const months = Array.from({ length: monthsShown }, (_, ahead) => addMonths(today.slice(0, 7), ahead));
  return {
    hasMonths: shown.programs.length > 0,
    weekdays: weekdays.map((weekday) => ({
      name: shown.words.weekdays[weekday],
      short: shown.words.weekdaysShort[weekday],
    })),
    months: shown.programs.length === 0 ? [] : months.map((month) => monthView(shown, month, today)),
  };
}

function monthView({ programs, breaks, words }: Shown, month: string, today: string): object {
  const marks = marksOf({ programs, breaks, words });
  const grids = programs.map(({ rhythm, reviewOn }) => monthOf({ ...rhythm, reviewOn }, month));
  const weeks = (grids[0] ?? []).map((week, weekIndex) => ({
    days: week.map((day, dayIndex) => {
      const same = grids.flatMap((grid) => grid[weekIndex]?.[dayIndex] ?? []);
      return dayView(day, { same, marks: marks.filter((mark) => isOn(mark, day.day)), today });
    }),
  }));
  const shown = marks.filter(({ fromDay, untilDay }) => isWithin({ fromDay, untilDay }, month));
  return {
    month: monthInWords(month),
    weeks,
    hasMarks: shown.length > 0,
    marks: shown.map(({ fromDay, untilDay, what }) => ({
      what,
      from: dateInWords(fromDay),
      isOpen: untilDay === null,
      until: untilDay === null || untilDay === fromDay ? null : dateInWords(untilDay),
    })),
  };
}

function dayView(
  { day, dayOfMonth, isInMonth, inBreak }: MonthDay<Break>,
  { same, marks, today }: { same: readonly MonthDay<Break>[]; marks: readonly Mark[]; today: string },
): object {
  const times = same.flatMap(({ sessions }) => sessions.map(({ time }) => time));
  return {
    isInMonth,
    dayOfMonth,
    isToday: day === today,
    isBreak: isInMonth && inBreak !== null,
    isMarked: marks.length > 0 && inBreak === null,
    marks: marks.map(({ what }) => what),
    times: [...new Set(times)].sort().map((time) => timeOfDayInWords(time)),
  };
}

function marksOf({ programs, breaks, words }: Shown): Mark[] {
  const ofPrograms = programs.flatMap(({ title, reviewOn, rhythm: { startsOn, endsOn } }) => {
    const of = programs.length > 1 ? ` (${title})` : '';
    const named = [
      [startsOn, words.timetable.startsOn],
      [endsOn, words.timetable.endsOn],
      [reviewOn, words.timetable.reviewOn],
    ] as const;
    return named.flatMap(([day, what]) =>
      day === null ? [] : [{ fromDay: day, untilDay: day, what: `${what}${of}` }],
    );
  });
  const ofBreaks = breaks.map(({ fromDay, untilDay, kind }) => ({
    ...{ fromDay, untilDay },
    what: words.breakKinds[kind],
  }));
  return [...ofPrograms, ...ofBreaks].sort((a, b) => (a.fromDay < b.fromDay ? -1 : 1));
}

function isOn({ fromDay, untilDay }: Mark, day: string): boolean {
  return fromDay <= day && (untilDay === null || day <= untilDay);
}

function isWithin({ fromDay, untilDay }: Pick<Mark, 'fromDay' | 'untilDay'>, month: string): boolean {
  return fromDay.slice(0, 7) <= month && (untilDay === null || month <= untilDay.slice(0, 7));
}
