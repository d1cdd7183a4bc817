/**
 * Stores a release of the IANA time zone data in the project. Compiled zones of a release are, for example, in the
 * package `tzdata` of the Python Package Index:
 *
 *     pip download tzdata --no-deps && unzip tzdata-*.whl
 *     npx tsx scripts/keepZones.ts tzdata/zoneinfo
 *
 * `tests/zones` compares the stored data with what zdump prints for the system's zones if the release is the same.
 */
import { writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { keptText } from '../src/zones/keptZones.js';
import { findSystemZones, readSystemZones } from '../src/zones/systemZones.js';

const [, , folder] = process.argv;
const found = folder === undefined ? null : await findSystemZones([folder]);
if (folder === undefined || found === null) {
  console.error('name a folder of compiled zones with tzdata.zi or +VERSION');
  process.exit(2);
}
const sinceSeconds = Date.UTC(2000, 0, 1) / 1_000;
const tables = new Map(
  [...(await readSystemZones(folder))].map(([name, { firstOffsetSeconds, changes, footer }]) => {
    const before = changes.findLast(([atSeconds]) => atSeconds < sinceSeconds);
    const kept = {
      firstOffsetSeconds: before?.[1] ?? firstOffsetSeconds,
      changes: changes.filter(([atSeconds]) => atSeconds >= sinceSeconds),
      footer,
    };
    return [name, kept] as const;
  }),
);
const day = new Date(found.releasedByMs).toISOString().slice(0, 10);
await writeFile(
  fileURLToPath(new URL('../src/zones/kept.txt', import.meta.url)),
  keptText(found.release, day, tables),
);
console.log(`${tables.size} zones of release ${found.release}, out by ${day}`);
