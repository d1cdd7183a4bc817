import { wallClockInstant } from '../../src/schedule/wallClock.js';
import { minuteMs } from '../../src/time/units.js';

const patients = 1_000_000;
const graceMinutes = 60;
/**
 * An invented distribution of where people live and when their sessions are. Most keep the default times; half have a
 * caregiver who also gets reminders, and a fifth of their sessions do not start on time, which adds one message.
 */
const zones: Readonly<Record<string, number>> = {
  'America/Los_Angeles': 0.1,
  'America/Chicago': 0.12,
  'America/New_York': 0.18,
  'Europe/London': 0.14,
  'Europe/Berlin': 0.26,
  'Asia/Kolkata': 0.08,
  'Asia/Tokyo': 0.08,
  'Australia/Sydney': 0.04,
};
const times: Readonly<Record<string, number>> = { '09:00': 0.6, '08:00': 0.25, '17:00': 0.6, '18:30': 0.15 };
const caregivers = 0.5;
const notBegun = 0.2;
const caregiverAfterMinutes = 45;

/** Describes the busiest minutes of one day for a million patients, and how long each takes at a measured rate. */
export function peaksOfAMillion(perSecond: number): string {
  const minutes = new Map<number, number>();
  const add = (atMs: number, count: number) => minutes.set(atMs, (minutes.get(atMs) ?? 0) + count);
  const perZone = new Map<string, number>();
  for (const [zone, share] of Object.entries(zones)) {
    for (const [time, part] of Object.entries(times)) {
      const dueAtMs = wallClockInstant('2026-12-01', time, zone);
      const due = patients * share * part;
      add(dueAtMs, due * (1 + caregivers));
      add(dueAtMs + caregiverAfterMinutes * minuteMs, due * caregivers * notBegun);
      perZone.set(zone, Math.max(perZone.get(zone) ?? 0, due * (1 + caregivers)));
    }
  }
  const total = [...minutes.values()].reduce((sum, count) => sum + count, 0);
  const largest = Math.max(...minutes.values());
  const lines = [...perZone]
    .sort(([, a], [, b]) => b - a)
    .map(([zone, count]) => `| ${zone} | ${Math.round(count)} | ${(count / perSecond / 60).toFixed(1)} |`);
  return [
    '| zone | messages at its largest minute | minutes until the last is handed on |',
    '|---|---|---|',
    ...lines,
    '',
    `${Math.round(total)} messages a day, ${Math.round(total / 1440)} a minute on average, ${Math.round(largest)} at the ` +
      `largest minute. At this pace the last of them is handed on after ${(largest / perSecond / 60).toFixed(1)} minutes; ` +
      `the wall, where some come after their ${graceMinutes} minutes, stands at ${Math.round(perSecond * graceMinutes * 60)} ` +
      'messages at one minute.',
  ].join('\n');
}
