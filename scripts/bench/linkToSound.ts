import { type Browser, chromium, type Request } from 'playwright-core';
import { median } from './timing.js';

/** A 3G mobile network, as browsers' developer tools simulate one; from memory. */
const slowNetwork = { latencyMs: 150, downBytesPerSecond: 200_000, upBytesPerSecond: 94_000 };

/**
 * Measures the time from opening a link to the first sound of the voice, in Chromium on a phone-sized screen that has
 * never loaded the page, with one press of the large button in between. It uses the browser's own clock, from the start
 * of the navigation; starting the browser is not our time, so one load before does not count. Median of as many runs as
 * there are links.
 *
 * @returns ms at full speed and on a slow network, and the bytes loaded before the first sound was requested
 */
export async function linkToSound(
  links: readonly string[],
): Promise<{ quickMs: number; slowMs: number; pageBytes: number }> {
  const browser = await chromium.launch({
    executablePath: process.env.STILLCOUNT_TEST_CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--autoplay-policy=no-user-gesture-required'],
  });
  try {
    const quick = [];
    const slow = [];
    const [first = ''] = links;
    await once(browser, first, false);
    for (const link of links) {
      quick.push(await once(browser, link, false));
      slow.push(await once(browser, link, true));
    }
    const middle = (runs: readonly { ms: number }[]) =>
      median(runs.map(({ ms }) => ms).sort((a, b) => a - b));
    return {
      quickMs: middle(quick),
      slowMs: middle(slow),
      pageBytes: Math.max(...quick.map(({ pageBytes }) => pageBytes)),
    };
  } finally {
    await browser.close();
  }
}

/**
 * Runs in the page: presses the large button as soon as it can be pressed, and records how long after opening the link
 * the voice was heard. The automation's own click would add some hundred milliseconds.
 */
const pressAtOnce = `
  const look = () => {
    const button = [...document.querySelectorAll('button')].find(
      (each) => each.textContent.trim() === 'Begin' && each.checkVisibility() && !each.disabled,
    );
    if (button === undefined) return requestAnimationFrame(look);
    const listen = () => {
      const voice = document.querySelector('audio[data-sound="voice"]');
      if (voice.paused || voice.currentTime === 0) return setTimeout(listen, 5);
      window.soundAfterMs = performance.now();
    };
    button.click();
    listen();
  };
  requestAnimationFrame(look);
`;

async function once(
  browser: Browser,
  link: string,
  isSlow: boolean,
): Promise<{ ms: number; pageBytes: number }> {
  const context = await browser.newContext({
    viewport: { width: 390, height: 844 },
    reducedMotion: 'reduce',
    // The page's policy forbids evaluating text as code, which the query below needs.
    bypassCSP: true,
  });
  const page = await context.newPage();
  if (isSlow) {
    const tools = await context.newCDPSession(page);
    const { latencyMs, downBytesPerSecond, upBytesPerSecond } = slowNetwork;
    await tools.send('Network.emulateNetworkConditions', {
      offline: false,
      latency: latencyMs,
      downloadThroughput: downBytesPerSecond,
      uploadThroughput: upBytesPerSecond,
    });
  }
  const weights: Promise<number>[] = [];
  page.on('response', (response) => {
    const isPage = ['document', 'stylesheet', 'script'].includes(response.request().resourceType());
    if (isPage) weights.push(sizeOf(response.request()));
  });
  await page.addInitScript(pressAtOnce);
  await page.goto(link, { waitUntil: 'commit' });
  const sound = await page.waitForFunction('window.soundAfterMs', undefined, { polling: 10 });
  const ms = Number(await sound.jsonValue());
  const pageBytes = (await Promise.all(weights)).reduce((sum, bytes) => sum + bytes, 0);
  await context.close();
  return { ms, pageBytes };
}

/** The size as transferred over the network. */
async function sizeOf(request: Request): Promise<number> {
  return (await request.sizes()).responseBodySize;
}
