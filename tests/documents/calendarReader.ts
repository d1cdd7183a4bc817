import ICAL from 'ical.js';
import { z } from 'zod';

/** Calendars as another program reads them: ical.js, which takes the zones from the file itself. */

export type ReadEvent = {
  uid: string;
  startsAtMs: number;
  /** As the file has it, with the zone that it names. */
  start: string;
  zone: string;
  durationSeconds: number;
  sequence: number;
  status: string;
  summary: string;
  description: string;
  stampedAtMs: number;
  alarmsAtMs: number[];
};

/** @throws when it is no calendar, or an event names a zone that the file does not define */
export function readCalendar(text: string): { root: ICAL.Component; events: ReadEvent[] } {
  const root = new ICAL.Component(ICAL.parse(text));
  return { root, events: root.getAllSubcomponents('vevent').map((each) => readEvent(root, each)) };
}

function readEvent(root: ICAL.Component, component: ICAL.Component): ReadEvent {
  const event = new ICAL.Event(component);
  const { startDate } = event;
  const { tzid } = startDate.zone ?? ICAL.Timezone.localTimezone;
  if (tzid !== 'UTC' && root.getTimeZoneByID(tzid) === null) throw new Error(`undefined zone ${tzid}`);
  const startsAtMs = startDate.toUnixTime() * 1000;
  const alarms = component
    .getAllSubcomponents('valarm')
    .map((alarm) => alarm.getFirstPropertyValue('trigger'));
  return {
    uid: event.uid,
    startsAtMs,
    start: startDate.toString(),
    zone: tzid,
    durationSeconds: event.duration.toSeconds(),
    sequence: event.sequence,
    status: z.string().parse(component.getFirstPropertyValue('status')),
    summary: event.summary,
    description: event.description,
    stampedAtMs:
      z.instanceof(ICAL.Time).parse(component.getFirstPropertyValue('dtstamp')).toUnixTime() * 1000,
    alarmsAtMs: alarms.map(
      (trigger) => startsAtMs + z.instanceof(ICAL.Duration).parse(trigger).toSeconds() * 1000,
    ),
  };
}

/** The zone that a file defines, as ical.js counts in it: the instant of a local time, `YYYY-MM-DDTHH:MM:SS`. */
export function instantsOf(definition: string, tzid: string): (localTime: string) => number {
  const zone = new ICAL.Component(ICAL.parse(definition)).getTimeZoneByID(tzid);
  if (zone === null) throw new Error(`undefined zone ${tzid}`);
  return (localTime) => {
    const time = ICAL.Time.fromDateTimeString(localTime);
    time.zone = zone;
    return time.toUnixTime() * 1000;
  };
}
