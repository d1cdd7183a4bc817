import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { browserNames, deviceOf, deviceText, keptDevice, systemNames } from '../../src/text/device.js';

/** As these browsers write it; from memory of what each documents, shortened nowhere. */
const told = [
  ['Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:128.0) Gecko/20100101 Firefox/128.0', 'firefox windows'],
  [
    'Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.5 Safari/605.1.15',
    'safari mac',
  ],
  [
    'Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/17.5 Mobile/15E148 Safari/604.1',
    'safari iphone',
  ],
  [
    'Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) CriOS/126.0.6478.54 Mobile/15E148 Safari/604.1',
    'chrome iphone',
  ],
  [
    'Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0.0.0 Mobile Safari/537.36',
    'chrome android',
  ],
  [
    'Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) SamsungBrowser/25.0 Chrome/121.0.0.0 Mobile Safari/537.36',
    'samsung android',
  ],
  [
    'Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0.0.0 Safari/537.36 Edg/126.0.0.0',
    'edge windows',
  ],
  [
    'Mozilla/5.0 (X11; CrOS x86_64 14541.0.0) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0.0.0 Safari/537.36',
    'chrome chromebook',
  ],
  ['Mozilla/5.0 (X11; Linux x86_64; rv:128.0) Gecko/20100101 Firefox/128.0', 'firefox linux'],
  ['node', 'other other'],
  [undefined, 'other other'],
] as const;

describe('the device of a sign-in', () => {
  it.each(told)('of %s is %s', (userAgent, device) => {
    expect(deviceText(deviceOf(userAgent))).toBe(device);
  });

  it('is one of the few that have words, whatever a browser says, and is read back as it was kept', () => {
    fc.assert(
      fc.property(fc.string(), (userAgent) => {
        const device = deviceOf(userAgent);
        expect(browserNames).toContain(device.browser);
        expect(systemNames).toContain(device.system);
        expect(keptDevice(deviceText(device))).toEqual(device);
        expect(deviceText(keptDevice(userAgent)).split(' ')).toHaveLength(2);
      }),
    );
  });
});
