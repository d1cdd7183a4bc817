import fc from 'fast-check';
import { tzlib_get_ical_block } from 'timezones-ical-library';
import { describe, expect, it } from 'vitest';
import { type CalendarEntry, type CalendarFeed, calendarOf } from '../../src/documents/calendar.js';
import { occurrencesOf, type PlanHistory } from '../../src/schedule/calendar.js';
import { slotsOf } from '../../src/schedule/slots.js';
import { addDays, isoDayIn, startOfDayMs } from '../../src/schedule/wallClock.js';
import { firstInstantShowing, stretchesOf } from '../schedule/offsets.js';
import { plainTimetable } from '../schedule/timetables.js';
import { instantsOf, readCalendar } from './calendarReader.js';

const dayMs = 86_400_000;
const nowMs = Date.UTC(2026, 10, 25, 12);
const prescriptionId = '6b9f1c1e-4b0e-4a5e-8f27-0d9b1c8a7e11';

const history = (zone: string, timesOfDay: string[], signedAtMs: number): PlanHistory => ({
  prescriptionId,
  zone,
  zoneRevision: 0,
  versions: [
    {
      number: 1,
      signedAtMs,
      timetable: { ...plainTimetable, timesADay: timesOfDay.length, timesOfDay },
    },
  ],
  states: [],
  breaks: [],
  holds: [],
});

const entry: CalendarEntry = {
  uid: `2026-11-26-1.${prescriptionId}@stillcount`,
  slot: '2026-11-26#1',
  day: '2026-11-26',
  startsAtMs: Date.UTC(2026, 10, 26, 8),
  localStart: '2026-11-26T09:00',
  isShownTwice: false,
  versionNumber: 1,
  daysToChoose: null,
  isCancelled: false,
  sequence: 3,
  lastChangedAtMs: nowMs,
  minutes: 15,
  summary: 'Your session',
  description: 'About 15 minutes.\nNot well? Do not begin; call first.',
};

const feed: CalendarFeed = {
  name: 'Sessions',
  zone: 'Europe/Berlin',
  fromMs: nowMs - 14 * dayMs,
  untilMs: nowMs + 85 * dayMs,
  refreshMinutes: 60,
  entries: [entry],
};

const lines = (text: string) => text.split('\r\n');
const octets = (text: string) => new TextEncoder().encode(text).length;

describe('a calendar of sessions', () => {
  it('is read by an independent reader, with time, length, alarm and words', () => {
    const { root, events } = readCalendar(calendarOf(feed));
    expect(events).toEqual([
      {
        uid: entry.uid,
        startsAtMs: entry.startsAtMs,
        start: '2026-11-26T09:00:00',
        zone: 'Europe/Berlin',
        durationSeconds: 900,
        sequence: 3,
        status: 'CONFIRMED',
        summary: entry.summary,
        description: entry.description,
        stampedAtMs: nowMs,
        alarmsAtMs: [entry.startsAtMs],
      },
    ]);
    expect(root.getFirstPropertyValue('x-wr-calname')).toBe('Sessions');
    expect(root.getFirstPropertyValue('method')).toBe('PUBLISH');
  });

  it('has what RFC 5545 asks for in sections 3.6 and 3.6.1 to 3.6.6, and what RFC 7986 adds', () => {
    const found = lines(calendarOf(feed));
    const count = (name: string) => found.filter((each) => each.startsWith(name)).length;
    expect(['VERSION:2.0', 'PRODID:', 'METHOD:', 'REFRESH-INTERVAL;VALUE=DURATION:PT60M'].map(count)).toEqual(
      [1, 1, 1, 1],
    );
    expect(['UID:', 'DTSTAMP:', 'DTSTART;TZID=', 'DURATION:', 'DTEND', 'CLASS:PRIVATE'].map(count)).toEqual([
      1, 1, 1, 1, 0, 1,
    ]);
    expect(found.find((each) => each.startsWith('DTSTAMP:'))).toMatch(/^DTSTAMP:\d{8}T\d{6}Z$/);
    expect(found).toContain('TZID:Europe/Berlin');
    for (const name of ['ACTION:DISPLAY', 'TRIGGER:PT0S']) expect(found).toContain(name);
  });

  it('says that a session was taken off, and does not ring for it', () => {
    const { events } = readCalendar(calendarOf({ ...feed, entries: [{ ...entry, isCancelled: true }] }));
    expect(events[0]).toMatchObject({ status: 'CANCELLED', alarmsAtMs: [], startsAtMs: entry.startsAtMs });
  });

  it('has no length where none is known', () => {
    const { events } = readCalendar(calendarOf({ ...feed, entries: [{ ...entry, minutes: null }] }));
    expect(events[0]?.durationSeconds).toBe(0);
  });

  it('is whole without sessions', () => {
    const { root, events } = readCalendar(calendarOf({ ...feed, entries: [] }));
    expect(events).toEqual([]);
    expect(root.getAllSubcomponents('vtimezone')).toHaveLength(1);
  });

  it('is the same bytes wherever the machine stands', () => {
    const before = process.env.TZ;
    try {
      const texts = ['UTC', 'America/New_York', 'Asia/Kolkata'].map((zone) => {
        process.env.TZ = zone;
        return calendarOf(feed);
      });
      expect(new Set(texts).size).toBe(1);
    } finally {
      if (before === undefined) delete process.env.TZ;
      else process.env.TZ = before;
    }
  });
});

describe('every session of a calendar', () => {
  // Times in and around the gaps and overlaps of facts of 2026 and 2027 (IANA data).
  const times = ['00:15', '01:45', '02:30'];
  it.each([
    'Europe/Berlin',
    'America/New_York',
    'Australia/Sydney',
    'Australia/Lord_Howe',
    'America/Santiago',
    'Africa/Casablanca',
    'Asia/Kolkata',
    'UTC',
  ])('is read at the moment of the schedule through a year of clock changes in %s', (zone) => {
    const stretches = stretchesOf(zone, nowMs - 400 * dayMs, nowMs + 400 * dayMs);
    const fromMs = nowMs - 200 * dayMs;
    const occurrences = occurrencesOf(history(zone, times, fromMs), nowMs, { backDays: 190, aheadDays: 190 });
    const entries = occurrences.map((each) => ({ ...entry, ...each }));
    const text = calendarOf({ ...feed, zone, fromMs, untilMs: nowMs + 200 * dayMs, entries });
    const { events } = readCalendar(text);
    const allDays = Array.from({ length: 381 }, (_, index) => addDays(isoDayIn(nowMs, zone), index - 190));
    const rhythm = { ...plainTimetable, timesADay: 3, timesOfDay: times, zone, breaks: [] };
    const planned = allDays.flatMap((day) => slotsOf(rhythm, day));
    expect(events.map(({ startsAtMs }) => startsAtMs)).toEqual(planned.map(({ dueAtMs }) => dueAtMs));
    const searched = allDays.flatMap((day) =>
      times.map((time) => firstInstantShowing(Date.parse(`${day}T${time}:00Z`), stretches)),
    );
    expect(events.map(({ startsAtMs }) => startsAtMs)).toEqual(searched);
    expect(events.flatMap(({ alarmsAtMs }) => alarmsAtMs)).toEqual(searched);
  });

  it('in an hour that clocks show twice is named in UTC, and the first of the two', () => {
    // Central European Summer Time ends on 25 October 2026 at 01:00 UTC (IANA data, file europe).
    const changedMs = Date.UTC(2026, 9, 25, 1);
    const [night] = occurrencesOf(history('Europe/Berlin', ['02:30'], changedMs - 7 * dayMs), changedMs, {
      backDays: 0,
      aheadDays: 0,
    });
    if (night === undefined) throw new Error('nothing is planned');
    const { events } = readCalendar(calendarOf({ ...feed, entries: [{ ...entry, ...night }] }));
    expect(events[0]).toMatchObject({ zone: 'UTC', startsAtMs: changedMs - 30 * 60_000 });
  });
});

describe('the zone that a calendar defines', () => {
  // The tables of timezones-ical-library come from the IANA data by vzic. Zones whose law changed in 2026 are left
  // out: how they are read depends on the year of the data.
  it.each([
    'Europe/Berlin',
    'Europe/Dublin',
    'America/New_York',
    'America/St_Johns',
    'America/Santiago',
    'Australia/Lord_Howe',
    'Pacific/Auckland',
    'Asia/Kolkata',
    'Asia/Kathmandu',
  ])('counts as one made from the IANA data does, in %s', (zone) => {
    const own = instantsOf(calendarOf({ ...feed, zone, untilMs: nowMs + 400 * dayMs }), zone);
    const block = String(tzlib_get_ical_block(zone)[0]).replace(/\r?\n/g, '\r\n');
    const other = instantsOf(`BEGIN:VCALENDAR\r\n${block}\r\nEND:VCALENDAR`, zone);
    const offsets = new Set<number>();
    for (let day = '2026-11-20'; day < '2027-12-20'; day = addDays(day, 1)) {
      for (const time of ['00:00:00', '04:00:00', '12:00:00', '20:30:00']) {
        const localTime = `${day}T${time}`;
        expect([localTime, own(localTime)]).toEqual([localTime, other(localTime)]);
        offsets.add(Date.parse(`${localTime}Z`) - own(localTime));
      }
    }
    expect(offsets.size, 'clock changes were met').toBe(zone.startsWith('Asia/') ? 1 : 2);
  });

  it('holds from long before the first session', () => {
    const text = calendarOf({ ...feed, zone: 'Asia/Kolkata' });
    expect(lines(text)).toContain('DTSTART:19700101T000000');
    expect(lines(text).filter((each) => each.startsWith('TZOFFSETTO'))).toEqual(['TZOFFSETTO:+0530']);
    expect(instantsOf(text, 'Asia/Kolkata')('2026-01-01T00:00:00')).toBe(
      startOfDayMs('2026-01-01', 'Asia/Kolkata'),
    );
  });
});

/** A reader gets line ends of one kind, and no character that iCalendar has no place for (RFC 5545, section 3.1). */
const asRead = (text: string) =>
  text
    .replace(/\r\n?/g, '\n')
    // biome-ignore lint/suspicious/noControlCharactersInRegex: these are what is left out
    .replace(/[\u0000-\u0008\u000B-\u001F\u007F]|[\uD800-\uDFFF]/gu, '');

/** ical.js does not know the property NAME and gives its value as it is written; it must be written as a summary is. */
const writtenSummary = (text: string) => /\nSUMMARY:(.*?)\r\n/s.exec(text.replaceAll('\r\n ', ''))?.[1];

describe('words in a calendar', () => {
  const anything = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 200 }),
    fc.string({
      unit: fc.constantFrom('\\', ';', ',', '\n', '\r', ':', '"', ' ', 'é', '👵🏽', '早'),
      maxLength: 200,
    }),
  );

  it.each([
    'Großmutter 👵🏽'.repeat(20),
    '早晨の体操'.repeat(40),
    'é'.repeat(300),
    'x'.repeat(400),
    'a, b; c\\d\ne:f"g',
  ])('stand in lines of 75 octets at most, whole, and come back: %s', (words) => {
    const text = calendarOf({
      ...feed,
      name: words,
      entries: [{ ...entry, summary: words, description: words }],
    });
    expect(Math.max(...lines(text).map(octets))).toBeLessThanOrEqual(75);
    const { root, events } = readCalendar(text);
    expect(events[0]).toMatchObject({ summary: words, description: words });
    expect(root.getFirstPropertyValue('name')).toBe(writtenSummary(text));
  });

  it('of whatever kind come back as they were, and break no line', () => {
    fc.assert(
      fc.property(anything, anything, (summary, description) => {
        const text = calendarOf({ ...feed, name: summary, entries: [{ ...entry, summary, description }] });
        expect(text.endsWith('END:VCALENDAR\r\n')).toBe(true);
        expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/);
        // Of a character that was cut in two, a surrogate would stand alone.
        expect(lines(text).filter((each) => octets(each) > 75 || /\p{Surrogate}/u.test(each))).toEqual([]);
        const { root, events } = readCalendar(text);
        expect(events).toHaveLength(1);
        expect(events[0]).toMatchObject({ summary: asRead(summary), description: asRead(description) });
        expect(root.getFirstPropertyValue('name')).toBe(writtenSummary(text));
        expect(events[0]?.alarmsAtMs).toEqual([entry.startsAtMs]);
      }),
      { numRuns: 1_000 },
    );
  });
});
