/** The first match wins: some browsers also name others, so the order matters. */
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

/** The browser and system of a sign-in. Nothing more precise is stored: it only has to be recognized by its owner. */
export type Device = { browser: BrowserName; system: SystemName };

/** Reads a User-Agent header (RFC 9110, section 10.1.5), which can contain anything. */
export function deviceOf(userAgent: string | undefined): Device {
  const agent = (userAgent ?? '').slice(0, 400);
  const browser = browsers.find(([, sign]) => sign.test(agent))?.[0] ?? 'other';
  const system = systems.find(([, sign]) => sign.test(agent))?.[0] ?? 'other';
  return { browser, system };
}

/** Formats a device for storing it with a sign-in. */
export function deviceText({ browser, system }: Device): string {
  return `${browser} ${system}`;
}

/** Parses a stored device; one that cannot be parsed becomes another browser on another system. */
export function keptDevice(stored: string): Device {
  const [first, second] = stored.split(' ');
  return {
    browser: browserNames.find((name) => name === first) ?? 'other',
    system: systemNames.find((name) => name === second) ?? 'other',
  };
}
