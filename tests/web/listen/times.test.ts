import { describe, expect, it } from 'vitest';
import { Times } from '../../../src/web/client/listen/times.js';

const noonMs = Date.UTC(2026, 10, 25, 11);

describe('times on a phone', () => {
  it('are those of the person’s zone, by the clock that the phone’s owner reads', () => {
    expect(new Times('en', 'de-AT').time(noonMs, 'Europe/Vienna')).toBe('12:00');
    expect(new Times('en', 'en-US').time(noonMs, 'America/New_York')).toMatch(/^6:00\sAM$/);
    expect(new Times('en', 'en-US').day(Date.UTC(2026, 10, 25, 23, 30), 'Europe/Vienna')).toBe('2026-11-26');
  });

  it.each(['en-US@posix', 'C', 'en_US', '', 'x'])(
    'are shown though the phone calls its language %j',
    (tag) => {
      for (const times of [new Times('en', tag), new Times(tag, 'en-US')]) {
        expect(times.time(noonMs, 'Europe/Vienna')).toMatch(/12:00/);
        expect(times.weekday(noonMs, 'Europe/Vienna')).not.toBe('');
      }
    },
  );

  it('are the phone’s own where it does not know the zone', () => {
    const times = new Times('en', 'de-AT');
    const own = new Date(noonMs);
    expect(times.time(noonMs, 'Europe/Newly_Named')).toBe(
      `${own.getHours()}:${String(own.getMinutes()).padStart(2, '0')}`.padStart(5, '0'),
    );
    expect(times.day(noonMs, 'Europe/Newly_Named')).toMatch(/^2026-11-2[456]$/);
  });
});
