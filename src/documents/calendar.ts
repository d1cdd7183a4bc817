import type { Occurrence } from '../schedule/calendar.js';
import { type ZoneOffset, zoneOffsetsIn } from '../schedule/zoneOffsets.js';
import { component, line, localOf, offsetOf, textOf, utcOf } from './icalendar.js';

/** A patient's sessions as a calendar feed, which calendar programs fetch repeatedly. */
export type CalendarFeed = {
  name: string;
  /** The patient's IANA zone. */
  zone: string;
  /** Start of the time that the feed covers, including times without sessions. */
  fromMs: number;
  untilMs: number;
  /** How long a calendar program should wait before it fetches the feed again. */
  refreshMinutes: number;
  entries: readonly CalendarEntry[];
};

export type CalendarEntry = Occurrence & {
  /** How long the session takes; null when that is not known. */
  minutes: number | null;
  /** The title. It must reveal nothing private, because anyone near the screen can see it. */
  summary: string;
  description: string;
};

/**
 * Returns the feed as iCalendar text (RFC 5545, with the properties of RFC 7986). Each session is its own event without
 * a recurrence rule, because programs interpret a rule differently on days when clocks change. Nothing depends on the
 * current time, so the same sessions always give the same bytes.
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
      // Older than RFC 7986, and still the property that most programs read.
      line('X-WR-CALNAME', name),
      line('REFRESH-INTERVAL;VALUE=DURATION', refresh),
      line('X-PUBLISHED-TTL', refresh),
      zoneOf(feed),
      ...feed.entries.map((entry) => eventOf(entry, feed.zone)),
    ].join(''),
  );
}

/**
 * Returns the zone definition that the schedule itself uses, for the days that the feed covers. A table from elsewhere
 * may be from another year, and the alarm would then ring an hour before or after the reminder.
 */
function zoneOf({ zone, fromMs, untilMs }: CalendarFeed): string {
  const offsets = zoneOffsetsIn(zone, fromMs, untilMs);
  const least = Math.min(...offsets.map(({ offsetSeconds }) => offsetSeconds));
  const parts = offsets.map((offset, index) => observanceOf(offset, offsets[index - 1] ?? offset, least));
  return component('VTIMEZONE', [line('TZID', zone), ...parts].join(''));
}

function observanceOf({ sinceMs, offsetSeconds }: ZoneOffset, before: ZoneOffset, least: number): string {
  // An onset is in the local time before the change (section 3.6.5); the first offset applies from long before.
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

/**
 * Returns the start in the patient's local time. A time that clocks show twice is in UTC, because programs differ in
 * which of the two they use.
 */
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
