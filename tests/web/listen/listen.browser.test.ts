import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hasChromium, whyNoChromium } from '../browser.js';
import { bedside } from './scenarios/bedside.js';
import { easier } from './scenarios/easier.js';
import { faults } from './scenarios/faults.js';
import { links } from './scenarios/links.js';
import { listening } from './scenarios/listening.js';
import { notes } from './scenarios/notes.js';
import { offline } from './scenarios/offline.js';
import { oldPhone } from './scenarios/oldPhone.js';
import { trembling } from './scenarios/trembling.js';
import { warnings } from './scenarios/warnings.js';
import { Ward } from './ward.js';

it('has a browser to run in', (context) => {
  if (!hasChromium && process.env.CI === undefined) context.skip(whyNoChromium);
  expect(hasChromium, whyNoChromium).toBe(true);
});

// All in one clinic: its voice speaks each sentence once.
describe.skipIf(!hasChromium)('the listening page', { timeout: 120_000 }, () => {
  let ward: Ward;
  beforeAll(async () => {
    ward = await Ward.open();
  }, 300_000);
  afterAll(() => ward.close());

  listening(() => ward);
  easier(() => ward);
  warnings(() => ward);
  notes(() => ward);
  offline(() => ward);
  links(() => ward);
  bedside(() => ward);
  faults(() => ward);
  trembling(() => ward);
  oldPhone(() => ward);
});
