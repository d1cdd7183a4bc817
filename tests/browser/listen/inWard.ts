import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { hasChromium, whyNoChromium } from '../../support/browser.js';
import { Ward } from './ward.js';

/** What happens on phones of one clinic; it opens with the ward, when its tests begin. */
export type Scenario = (open: () => Ward) => void;

/** Runs scenarios one after the other in one clinic, whose voice speaks each sentence once. */
export function inWard(title: string, scenarios: readonly Scenario[]): void {
  it('has a browser to run in', (context) => {
    if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
    expect(hasChromium, whyNoChromium).toBe(true);
  });

  describe.skipIf(!hasChromium)(title, { timeout: 120_000 }, () => {
    let ward: Ward;
    beforeAll(async () => {
      ward = await Ward.open();
    }, 300_000);
    afterAll(() => ward.close());
    // A scenario's own phone is opened before its first test.
    beforeEach(() => ward.keepPhones());
    afterEach(() => ward.putPhonesAway());

    for (const scenario of scenarios) scenario(() => ward);
  });
}
