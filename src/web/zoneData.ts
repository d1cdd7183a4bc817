import { open } from 'node:fs/promises';

/** Releases of the IANA time-zone data, such as 2025b. */
export type ZoneData = {
  /** Which every time is worked out with. */
  used: string;
  /** What this system has; null where it does not say so. */
  ofSystem: string | null;
};

const systemFile = '/usr/share/zoneinfo/tzdata.zi';

/** @param file whose first line names the release, as the compact form of the data has it: `# version 2025b` */
export async function readZoneData(file: string = systemFile): Promise<ZoneData> {
  const used = process.versions.tz ?? '';
  try {
    const handle = await open(file);
    try {
      const { buffer, bytesRead } = await handle.read(Buffer.alloc(100), 0, 100, 0);
      const [first = ''] = buffer.subarray(0, bytesRead).toString('latin1').split('\n');
      return { used, ofSystem: /^# version (\d{4}[a-z]+)/.exec(first)?.[1] ?? null };
    } finally {
      await handle.close();
    }
  } catch {
    // Many systems have no such file.
    return { used, ofSystem: null };
  }
}

/**
 * Whether a release is certainly older than six months: its name tells the year, and nothing tells the day, so that it
 * is taken to be of the year's last one.
 */
export function isOldRelease(release: string, nowMs: number): boolean {
  const year = Number(release.slice(0, 4));
  return !Number.isInteger(year) || nowMs > Date.UTC(year + 1, 6, 1);
}
