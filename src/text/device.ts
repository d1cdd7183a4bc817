/** The first that fits: some browsers name others too, so the order counts. */
const browsers = [
  ['edge', /\bEdg(e|A|iOS)?\//],
  ['opera', /\b(OPR|Opera)\//],
  ['samsung', /\bSamsungBrowser\//],
  ['firefox', /\b(Firefox|FxiOS)\//],
  ['chrome', /\b(Chrome|CriOS)\//],
  ['safari', /\bVersion\/[\d.]+.*\bSafari\//],
] as const;
const systems = [
  ['iphone', /\biPhone\b/],
  ['ipad', /\biPad\b/],
  ['android', /\bAndroid\b/],
  ['windows', /\bWindows\b/],
  ['mac', /\bMac OS X\b|\bMacintosh\b/],
  ['chromebook', /\bCrOS\b/],
  ['linux', /\bLinux\b/],
] as const;

export const browserNames = [...browsers.map(([name]) => name), 'other'] as const;
export const systemNames = [...systems.map(([name]) => name), 'other'] as const;
type BrowserName = (typeof browserNames)[number];
type SystemName = (typeof systemNames)[number];

/** Browser and system of a sign-in. Nothing finer is kept: it is only to be known again by whoever signed in. */
export type Device = { browser: BrowserName; system: SystemName };

/** Reads what a browser says about itself (RFC 9110, section 10.1.5); it may say anything. */
export function deviceOf(userAgent: string | undefined): Device {
  const agent = (userAgent ?? '').slice(0, 400);
  const browser = browsers.find(([, sign]) => sign.test(agent))?.[0] ?? 'other';
  const system = systems.find(([, sign]) => sign.test(agent))?.[0] ?? 'other';
  return { browser, system };
}

/** A device as it is kept with a sign-in. */
export function deviceText({ browser, system }: Device): string {
  return `${browser} ${system}`;
}

/** A device that was kept; one that cannot be read is another browser on another system. */
export function keptDevice(stored: string): Device {
  const [first, second] = stored.split(' ');
  return {
    browser: browserNames.find((name) => name === first) ?? 'other',
    system: systemNames.find((name) => name === second) ?? 'other',
  };
}
