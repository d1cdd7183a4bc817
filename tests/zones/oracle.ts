import { execFileSync } from 'node:child_process';
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { temporaryFolder } from '../leftBehind.js';

/** Zones with changes of half an hour, days left out, winter time that is set back, a month of fasting, new laws. */
export const oracleZones = [
  ...['Europe/London', 'Europe/Dublin', 'Africa/Casablanca', 'Africa/Cairo', 'Antarctica/Troll'],
  ...['America/New_York', 'America/Vancouver', 'America/Nuuk', 'Asia/Tehran', 'Australia/Lord_Howe'],
  'Pacific/Apia',
];

/** What zdump says of one instant. */
export type Witness = { atMs: number; offsetMs: number };

/** Reads lines of `zdump -v` (tz project): the second before each change, and its first one. */
export function readZdump(text: string): Map<string, Witness[]> {
  const found = new Map<string, Witness[]>();
  for (const line of text.split('\n')) {
    const [, path = '', utc = '', offset = ''] = /^(\S+) +(\S.*) UT = .* gmtoff=(-?\d+)$/.exec(line) ?? [];
    if (path === '') continue;
    const name = oracleZones.find((zone) => path.endsWith(zone)) ?? path;
    const witness = { atMs: Date.parse(`${utc} UTC`), offsetMs: Number(offset) * 1_000 };
    found.set(name, [...(found.get(name) ?? []), witness]);
  }
  return found;
}

/** What the C library's own reader says of compiled zones; null where the machine has no zdump. */
export function zdump(folder: string, from: number, until: number): Map<string, Witness[]> | null {
  try {
    const files = oracleZones.map((zone) => join(folder, zone));
    return readZdump(execFileSync('zdump', ['-v', '-c', `${from},${until}`, ...files]).toString());
  } catch {
    return null;
  }
}

/** Compiles zones with zic (tz project) as a release of this name; null where the machine has none. */
export async function compileZones(
  release: string,
  source: string,
  form: 'slim' | 'fat' = 'slim',
): Promise<string | null> {
  const folder = temporaryFolder('zones');
  const compiled = join(folder, 'zoneinfo');
  await mkdir(compiled);
  await writeFile(join(folder, 'source.zi'), source);
  try {
    execFileSync('zic', ['-b', form, '-d', compiled, join(folder, 'source.zi')], {
      env: { ...process.env, PATH: `${process.env.PATH}:/usr/sbin` },
      stdio: 'ignore',
    });
  } catch {
    return null;
  }
  await writeFile(join(compiled, 'tzdata.zi'), `# version ${release}\n`);
  return compiled;
}
