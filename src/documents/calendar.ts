import type { Occurrence } from '../schedule/calendar.js';
import { type ZoneOffset, zoneOffsetsIn } from '../schedule/zoneOffsets.js';
import { component, line, localOf, offsetOf, textOf, utcOf } from './icalendar.js';

/** A person's sessions as a calendar that other programs read again and again. */
export type CalendarFeed = {
  name: string;
  /** IANA zone of the person. */
  zone: string;
  /** What the feed reaches over, also where nothing is in it. */
  fromMs: number;
  untilMs: number;
  /** After how long it should be read again. */
  refreshMinutes: number;
  entries: readonly CalendarEntry[];
};

export type CalendarEntry = Occurrence & {
  /** How long it takes; null when that is not known. */
  minutes: number | null;
  /** Seen by whoever looks over a shoulder. */
  summary: string;
  description: string;
};

/**
 * The feed as iCalendar text (RFC 5545, with what RFC 7986 adds). Each session is an event of its own, without a
 * recurrence rule: programs do not agree on what a rule means on the days on which clocks change. Nothing in it comes
 * from a clock, so the same sessions are the same bytes.
 */
export function calendarOf(feed: CalendarFeed): string {
  const refresh = `PT${feed.refreshMinutes}M`;
  const name = textOf(feed.name);
  return component(
    'VCALENDAR',
    [
      line('VERSION', '2.0'),
      line('PRODID', '-//Stillcount//Calendar of sessions//EN'),
      line('METHOD', 'PUBLISH'),
      line('NAME', name),
      // Older than RFC 7986, and still what most programs read.
      line('X-WR-CALNAME', name),
      line('REFRESH-INTERVAL;VALUE=DURATION', refresh),
      line('X-PUBLISHED-TTL', refresh),
      zoneOf(feed),
      ...feed.entries.map((entry) => eventOf(entry, feed.zone)),
    ].join(''),
  );
}

/**
 * The zone as the schedule itself knows it, over the days that the feed reaches over: a table from elsewhere may be of
 * another year, and the alarm would ring an hour away from the reminder.
 */
function zoneOf({ zone, fromMs, untilMs }: CalendarFeed): string {
  const offsets = zoneOffsetsIn(zone, fromMs, untilMs);
  const least = Math.min(...offsets.map(({ offsetSeconds }) => offsetSeconds));
  const parts = offsets.map((offset, index) => observanceOf(offset, offsets[index - 1] ?? offset, least));
  return component('VTIMEZONE', [line('TZID', zone), ...parts].join(''));
}

function observanceOf({ sinceMs, offsetSeconds }: ZoneOffset, before: ZoneOffset, least: number): string {
  // The clock from which it is changed shows when (section 3.6.5); the first one holds from long before.
  const onset = sinceMs === null ? '19700101T000000' : utcOf(sinceMs + before.offsetSeconds * 1000);
  return component(
    offsetSeconds > least ? 'DAYLIGHT' : 'STANDARD',
    [
      line('DTSTART', onset.replace('Z', '')),
      line('TZOFFSETFROM', offsetOf(before.offsetSeconds)),
      line('TZOFFSETTO', offsetOf(offsetSeconds)),
    ].join(''),
  );
}

function eventOf(entry: CalendarEntry, zone: string): string {
  const changed = utcOf(entry.lastChangedAtMs);
  const { minutes, isCancelled } = entry;
  return component(
    'VEVENT',
    [
      line('UID', textOf(entry.uid)),
      line('DTSTAMP', changed),
      line('LAST-MODIFIED', changed),
      line('SEQUENCE', String(entry.sequence)),
      startOf(entry, zone),
      minutes === null ? '' : line('DURATION', `PT${minutes}M`),
      line('SUMMARY', textOf(entry.summary)),
      line('DESCRIPTION', textOf(entry.description)),
      line('CLASS', 'PRIVATE'),
      line('TRANSP', isCancelled ? 'TRANSPARENT' : 'OPAQUE'),
      line('STATUS', isCancelled ? 'CANCELLED' : 'CONFIRMED'),
      isCancelled ? '' : alarmOf(entry),
    ].join(''),
  );
}

/** In the person's own time; a time that clocks show twice in UTC, since programs differ on which one they take. */
function startOf({ startsAtMs, localStart, isShownTwice }: CalendarEntry, zone: string): string {
  if (isShownTwice) return line('DTSTART', utcOf(startsAtMs));
  return line(`DTSTART;TZID=${zone}`, localOf(localStart));
}

function alarmOf({ summary }: CalendarEntry): string {
  return component(
    'VALARM',
    [line('ACTION', 'DISPLAY'), line('TRIGGER', 'PT0S'), line('DESCRIPTION', textOf(summary))].join(''),
  );
}
