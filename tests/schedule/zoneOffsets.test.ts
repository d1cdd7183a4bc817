import { expect, it } from 'vitest';
import { zoneOffsetsIn } from '../../src/schedule/zoneOffsets.js';
import { stretchesOf } from './offsets.js';

const fromMs = Date.UTC(2026, 8, 1);
const untilMs = Date.UTC(2027, 11, 1);

it('clocks of every zone are put forward and back where a search over Intl.DateTimeFormat finds it', () => {
  let changes = 0;
  for (const zone of Intl.supportedValuesOf('timeZone')) {
    const found = zoneOffsetsIn(zone, fromMs, untilMs).filter(({ sinceMs }) => (sinceMs ?? 0) < untilMs);
    const searched = stretchesOf(zone, fromMs, untilMs).map(({ startMs, offsetMs }, index) => ({
      sinceMs: index === 0 ? null : startMs,
      offsetSeconds: offsetMs / 1000,
    }));
    expect([zone, found]).toEqual([zone, searched]);
    changes += searched.length - 1;
  }
  // Most of Europe and North America change their clocks; a search that found nothing would prove nothing.
  expect(changes).toBeGreaterThan(300);
});
