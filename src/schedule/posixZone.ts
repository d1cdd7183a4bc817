import { dayMs, hourMs } from '../time/units.js';

/** A clock change: from this instant on, clocks are this far ahead of UTC. */
export type ClockChange = { atMs: number; offsetMs: number };

/** How a zone continues after the last change in its data: with a constant offset, or by a yearly rule. */
export type YearRule = { standardMs: number; summer: null | { offsetMs: number; begins: Day; ends: Day } };

/** A day of the year and a time of day; the time may fall on another day. */
type Day = { timeMs: number; dayOf: (year: number) => number };

const name = '(?:[A-Za-z]{3,}|<[A-Za-z0-9+-]{3,}>)';
const clock = '[+-]?\\d{1,3}(?::\\d\\d(?::\\d\\d)?)?';
const date = '(?:M\\d{1,2}\\.\\d\\.\\d|J?\\d{1,3})';
const shape = new RegExp(
  `^${name}(${clock})(?:${name}(${clock})?,(${date})(?:/(${clock}))?,(${date})(?:/(${clock}))?)?$`,
);

/**
 * Reads the TZ string at the end of a TZif file (RFC 9636, section 3.3.1; POSIX.1-2017, chapter 8.3, with its times
 * from -167 to 167 hours).
 *
 * @returns null for text that is not a TZ string
 */
export function readPosixZone(text: string): YearRule | null {
  const parts = shape.exec(text);
  const [, standard = '', summer, begins, beginsAt = '2', ends, endsAt = '2'] = parts ?? [];
  if (parts === null) return null;
  // The string holds what is added to local time to reach UTC. Subtracting from 0 avoids -0.
  const standardMs = 0 - clockMs(standard);
  if (begins === undefined || ends === undefined) return { standardMs, summer: null };
  return {
    standardMs,
    summer: {
      offsetMs: summer === undefined ? standardMs + hourMs : 0 - clockMs(summer),
      begins: { timeMs: clockMs(beginsAt), dayOf: dayRule(begins) },
      ends: { timeMs: clockMs(endsAt), dayOf: dayRule(ends) },
    },
  };
}

/** Returns the changes that a rule makes in the given years, in order. */
export function changesOfYears(rule: YearRule, firstYear: number, lastYear: number): ClockChange[] {
  const { standardMs, summer } = rule;
  if (summer === null) return [];
  const changes: ClockChange[] = [];
  for (let year = firstYear; year <= lastYear; year += 1) {
    const { begins, ends, offsetMs } = summer;
    const beginsMs = begins.dayOf(year) + begins.timeMs - standardMs;
    const endsMs = ends.dayOf(year) + ends.timeMs - offsetMs;
    changes.push({ atMs: beginsMs, offsetMs }, { atMs: endsMs, offsetMs: standardMs });
  }
  // Permanent summer time is written as one that ends at the instant the next begins; in that case the beginning wins.
  return changes
    .map((change, index) => ({ change, rank: change.offsetMs === standardMs ? 0 : 1, index }))
    .sort((a, b) => a.change.atMs - b.change.atMs || a.rank - b.rank || a.index - b.index)
    .map(({ change }) => change)
    .filter((change, index, all) => all[index + 1]?.atMs !== change.atMs);
}

/**
 * Returns a function that gives the start of the rule's day in a year, in epoch milliseconds as if local time were UTC.
 */
function dayRule(text: string): (year: number) => number {
  if (text.startsWith('M')) {
    const [month = 1, week = 1, weekday = 0] = text.slice(1).split('.').map(Number);
    return (year) => {
      const firstMs = Date.UTC(year, month - 1, 1);
      const first = 1 + ((weekday - new Date(firstMs).getUTCDay() + 7) % 7);
      const daysInMonth = new Date(Date.UTC(year, month, 0)).getUTCDate();
      // Week 5 means the last one of the month.
      const day = first + 7 * (week - 1);
      return Date.UTC(year, month - 1, day > daysInMonth ? day - 7 : day);
    };
  }
  if (text.startsWith('J')) {
    const day = Number(text.slice(1));
    // February 29 is never counted, so J60 is always March 1.
    return (year) => Date.UTC(year, 0, day) + (day >= 60 && isLeap(year) ? dayMs : 0);
  }
  return (year) => Date.UTC(year, 0, 1 + Number(text));
}

function isLeap(year: number): boolean {
  return new Date(Date.UTC(year, 1, 29)).getUTCMonth() === 1;
}

function clockMs(text: string): number {
  const sign = text.startsWith('-') ? -1 : 1;
  const [hours = 0, minutes = 0, seconds = 0] = text.replace(/^[+-]/, '').split(':').map(Number);
  return sign * (hours * hourMs + minutes * 60_000 + seconds * 1_000);
}
