import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeAll, describe, expect, it } from 'vitest';
import { readPosixZone } from '../../src/schedule/posixZone.js';
import { isoDayIn, localTimeIn, nextTimeShown, wallClockInstant } from '../../src/schedule/wallClock.js';
import { isZone, nodeZone, useZoneTables, zoneOf } from '../../src/schedule/zoneRules.js';
import { TabledZone } from '../../src/schedule/zoneTable.js';
import { type KeptZones, readKeptZones } from '../../src/zones/keptZones.js';
import { findSystemZones, readSystemZone, readSystemZones } from '../../src/zones/systemZones.js';
import { readTzif } from '../../src/zones/tzif.js';
import { compileZones, oracleZones, readZdump, type Witness, zdump } from './oracle.js';

let kept: KeptZones;
beforeAll(async () => {
  kept = await readKeptZones();
});
afterEach(() => useZoneTables(null));

/** Each instant that the oracle names, and no change that it does not name. */
function expectAgreement(name: string, zone: TabledZone, witnesses: readonly Witness[]): void {
  for (const { atMs, offsetMs } of witnesses) {
    expect([name, new Date(atMs), zone.offsetMsAt(atMs)]).toEqual([name, new Date(atMs), offsetMs]);
  }
  const [first, last] = [witnesses[0], witnesses.at(-1)];
  if (first === undefined || last === undefined) return;
  // Pairs: the second before, and the change. Some change only their name.
  const changes = witnesses.filter(
    ({ offsetMs }, index) => index % 2 === 1 && offsetMs !== witnesses[index - 1]?.offsetMs,
  );
  expect([name, zone.changesBetween(first.atMs, last.atMs)]).toEqual([name, changes]);
}

describe('the rules of a zone', () => {
  it('that come with Stillcount are those that zdump shows of the same release', async () => {
    expect(kept.release, 'its record').toBe('2026d');
    const record = readZdump(await readFile(join(import.meta.dirname, 'zdump-2026d.txt'), 'utf8'));
    // Apia and Tehran have no clock changes any more.
    expect([...record.keys()].sort()).toEqual(oracleZones.filter((name) => name !== 'Asia/Tehran').sort());
    for (const [name, witnesses] of record) {
      const table = kept.tables.get(name);
      if (table === undefined) throw new RangeError(name);
      const zone = new TabledZone(table);
      const inOrder = witnesses.toSorted((a, b) => a.atMs - b.atMs);
      expectAgreement(name, zone, inOrder);
    }
    const tehran = new TabledZone(
      kept.tables.get('Asia/Tehran') ?? { firstOffsetSeconds: 0, changes: [], footer: '' },
    );
    expect(tehran.changesBetween(Date.UTC(2024, 0, 1), Date.UTC(2031, 0, 1))).toEqual([]);
  });

  it('of this computer are read as zdump reads them, listed to their end or going on by a rule', async (context) => {
    const system = await findSystemZones();
    const shown = system === null ? null : zdump(system.folder, 2024, 2040);
    context.skip(system === null || shown === null, 'no zone data or no zdump (Debian: tzdata, libc-bin)');
    if (system === null || shown === null) return;
    expect(shown.size).toBeGreaterThan(8);
    for (const [name, witnesses] of shown) {
      const table = await readSystemZone(system.folder, name);
      if (table !== null) expectAgreement(name, new TabledZone(table), witnesses);
    }
    const source = await readFile(join(system.folder, 'tzdata.zi'), 'utf8').catch(() => null);
    const slim = source === null ? null : await compileZones(system.release, source);
    context.skip(slim === null, 'no zic (Debian: libc-bin)');
    if (slim === null) return;
    for (const [name, witnesses] of zdump(slim, 2024, 2040) ?? []) {
      const table = await readSystemZone(slim, name);
      if (table === null) throw new RangeError(name);
      expectAgreement(name, new TabledZone(table), witnesses);
    }
  });

  it('give the clocks that Intl shows, in every zone, where both have the same past', () => {
    useZoneTables(kept.tables);
    const zones = Intl.supportedValuesOf('timeZone').filter((zone) => kept.tables.has(zone));
    expect(zones.length).toBeGreaterThan(400);
    // The laws of these years are settled: every release has them alike.
    const instants = fc.integer({ min: Date.UTC(2015, 0, 1) / 1_000, max: Date.UTC(2025, 0, 1) / 1_000 });
    for (const zone of zones) {
      const node = nodeZone(zone);
      fc.assert(
        fc.property(instants, (atSeconds) => {
          const atMs = atSeconds * 1_000;
          expect([zone, zoneOf(zone).offsetMsAt(atMs)]).toEqual([zone, node.offsetMsAt(atMs)]);
        }),
        { numRuns: 8 },
      );
    }
  });

  it('of the same release are those of Intl, also to come', async (context) => {
    const system = await findSystemZones();
    const node = process.versions.tz ?? '';
    const tables =
      node === kept.release
        ? kept.tables
        : node === system?.release
          ? await readSystemZones(system.folder)
          : null;
    context.skip(tables === null, `no compiled zones of release ${node}`);
    for (const [name, table] of tables ?? []) {
      if (!Intl.supportedValuesOf('timeZone').includes(name)) continue;
      const [fromMs, untilMs] = [Date.UTC(2025, 0, 1), Date.UTC(2030, 0, 1)];
      const found = new TabledZone(table).changesBetween(fromMs, untilMs);
      expect([name, found]).toEqual([name, nodeZone(name).changesBetween(fromMs, untilMs)]);
    }
  });

  it('are asked for by any spelling of its name, by Node where they do not name it, and not for what is none', () => {
    useZoneTables(kept.tables);
    // British Columbia keeps its summer time from 2026 on: zdump-2026d.txt.
    const atMs = Date.UTC(2026, 11, 24, 17);
    expect(localTimeIn(atMs, 'america/vancouver')).toBe('2026-12-24T10:00');
    useZoneTables(new Map());
    expect(localTimeIn(atMs, 'Europe/Vienna')).toBe('2026-12-24T18:00');
    const none = [
      '',
      '+01:00',
      'Nowhere/Town',
      'Factory',
      '2026-11-27T10:00:00Z',
      '2026-01-01T00:00[Europe/Vienna]',
    ];
    for (const name of none) expect(isZone(name), name).toBe(false);
    expect(isZone('UTC')).toBe(true);
  });

  it('hold for every time of day: each shown is found, the first where it is shown twice, or the leap', () => {
    useZoneTables(kept.tables);
    const zone = fc.constantFrom(...oracleZones);
    const minutes = fc.integer({ min: Date.UTC(2011, 0, 1) / 60_000, max: Date.UTC(2045, 0, 1) / 60_000 });
    fc.assert(
      fc.property(zone, minutes, (name, minute) => {
        const local = localTimeIn(minute * 60_000, name);
        const [day = '', time = ''] = local.split('T');
        const foundMs = wallClockInstant(day, time, name);
        expect(localTimeIn(foundMs, name)).toBe(local);
        expect(foundMs).toBeLessThanOrEqual(minute * 60_000);
        expect(nextTimeShown(minute * 60_000 - 1, time, name)).toBe(minute * 60_000);
      }),
      { numRuns: 400 },
    );
    // The day that Samoa left out (zdump-2026d.txt): its sessions come with the first moment after it.
    expect(wallClockInstant('2011-12-30', '08:00', 'Pacific/Apia')).toBe(Date.UTC(2011, 11, 30, 10));
    expect(isoDayIn(Date.UTC(2011, 11, 30, 10), 'Pacific/Apia')).toBe('2011-12-31');
  });
});

describe('a rule for the years after the last change', () => {
  // Examples of POSIX.1-2017, 8.3, and of RFC 9636, 3.3.1 and appendix B, worked out by hand from their text.
  it.each([
    ['UTC0', 2030, []],
    ['<+01>-1', 2030, []],
    ['EST5EDT,M3.2.0,M11.1.0', 2030, ['2030-03-10T07:00Z', '2030-11-03T06:00Z']],
    ['<-03>3<-02>,M3.5.0/-2,M10.5.0/-1', 2030, ['2030-03-31T01:00Z', '2030-10-27T01:00Z']],
    ['IST-2IDT,M3.4.4/26,M10.5.0', 2030, ['2030-03-29T00:00Z', '2030-10-26T23:00Z']],
    ['AAA3BBB,J60/0,J300', 2028, ['2028-03-01T03:00Z', '2028-10-27T04:00Z']],
    ['AAA3BBB,59/0,299', 2028, ['2028-02-29T03:00Z', '2028-10-26T04:00Z']],
  ] as const)('%s', (footer, year, changes) => {
    const zone = new TabledZone({ firstOffsetSeconds: 0, changes: [], footer });
    const found = zone.changesBetween(Date.UTC(year, 0, 2), Date.UTC(year, 11, 30));
    expect(found.map(({ atMs }) => new Date(atMs).toISOString())).toEqual(
      changes.map((each) => new Date(each).toISOString()),
    );
  });

  it('may be summer time for ever (RFC 9636, 3.3.1)', () => {
    const zone = new TabledZone({ firstOffsetSeconds: 0, changes: [], footer: 'EST5EDT,0/0,J365/25' });
    expect(zone.changesBetween(Date.UTC(2030, 0, 1), Date.UTC(2032, 0, 1))).toEqual([]);
    expect(zone.offsetMsAt(Date.UTC(2030, 6, 1))).toBe(-4 * 3_600_000);
  });

  it('is none where it cannot be read', () => {
    for (const text of ['', 'X', 'EST', 'EST5EDT,M3.2.0', 'EST5EDT,M3.2.0,', 'EST5 EDT']) {
      expect(readPosixZone(text), text).toBeNull();
    }
  });
});

describe('a compiled zone', () => {
  it('that is cut short or changed anywhere is refused or read, and nothing else happens', async (context) => {
    const system = await findSystemZones();
    const bytes =
      system === null ? null : await readFile(join(system.folder, 'Europe/London')).catch(() => null);
    context.skip(bytes === null, 'no zone data (Debian: tzdata)');
    if (bytes === null) return;
    expect(readTzif(bytes)).not.toBeNull();
    for (const length of [0, 3, 43, 44, 100, bytes.length - 1]) {
      expect(readTzif(bytes.subarray(0, length)), String(length)).toBeNull();
    }
    fc.assert(
      fc.property(fc.nat(bytes.length - 1), fc.nat(255), (at, value) => {
        const changed = Buffer.from(bytes);
        changed[at] = value;
        const table = readTzif(changed);
        if (table !== null) expect(Number.isFinite(new TabledZone(table).offsetMsAt(1.8e12))).toBe(true);
      }),
      { numRuns: 200 },
    );
    expect(await readSystemZone(system?.folder ?? '', '../../etc/passwd')).toBeNull();
  });
});
