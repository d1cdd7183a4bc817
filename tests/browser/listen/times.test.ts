import { describe, expect, it } from 'vitest';
import { Times } from '../../../src/browser/listen/times.js';

const noonMs = Date.UTC(2026, 10, 25, 11);

describe('times on a phone', () => {
  it('are those of the person’s zone, by the clock that the phone’s owner reads', () => {
    expect(new Times('en', 'de-AT').time(noonMs, { zone: 'Europe/Vienna' })).toBe('12:00');
    expect(new Times('en', 'en-US').time(noonMs, { zone: 'America/New_York' })).toMatch(/^6:00\sAM$/);
    expect(new Times('en', 'en-US').day(Date.UTC(2026, 10, 25, 23, 30), { zone: 'Europe/Vienna' })).toBe(
      '2026-11-26',
    );
  });

  it.each(['en-US@posix', 'C', 'en_US', '', 'x'])(
    'are shown though the phone calls its language %j',
    (tag) => {
      for (const times of [new Times('en', tag), new Times(tag, 'en-US')]) {
        expect(times.time(noonMs, { zone: 'Europe/Vienna' })).toMatch(/12:00/);
        expect(times.weekday(noonMs, { zone: 'Europe/Vienna' })).not.toBe('');
      }
    },
  );

  it('are those of the service, also where the phone’s own rules for the zone are older', () => {
    // British Columbia keeps its summer time from 2026 on (IANA data 2026d); a phone with older data goes back an hour.
    const clocks = [
      { sinceMs: null, offsetSeconds: -7 * 3600 },
      { sinceMs: noonMs + 3_600_000, offsetSeconds: -6 * 3600 },
    ];
    const person = { zone: 'America/Vancouver', clocks };
    const times = new Times('en', 'de-AT');
    expect(times.time(noonMs, person)).toBe('04:00');
    expect(times.time(noonMs + 3_600_000, person)).toBe('06:00');
    expect(times.day(Date.UTC(2026, 10, 25, 5, 59), person)).toBe('2026-11-24');
  });

  it('are the phone’s own where it does not know the zone', () => {
    const times = new Times('en', 'de-AT');
    const own = new Date(noonMs);
    expect(times.time(noonMs, { zone: 'Europe/Newly_Named' })).toBe(
      `${own.getHours()}:${String(own.getMinutes()).padStart(2, '0')}`.padStart(5, '0'),
    );
    expect(times.day(noonMs, { zone: 'Europe/Newly_Named' })).toMatch(/^2026-11-2[456]$/);
  });
});
