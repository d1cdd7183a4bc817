import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { isOldRelease, readZoneData } from '../../src/web/zoneData.js';

describe('the time-zone data', () => {
  it('of the system is named by its first line, and nothing where there is none', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'stillcount-zones-'));
    const file = join(folder, 'tzdata.zi');
    expect((await readZoneData(file)).ofSystem).toBeNull();
    await writeFile(file, '# version 2025b\n# This zic input file is in the public domain.\n');
    expect((await readZoneData(file)).ofSystem).toBe('2025b');
    await writeFile(file, 'R A 1916');
    expect((await readZoneData(file)).ofSystem).toBeNull();
    expect((await readZoneData(file)).used).toMatch(/^\d{4}[a-z]+$/);
    await rm(folder, { recursive: true });
  });

  it('is old half a year after the end of its year', () => {
    expect(isOldRelease('2025c', Date.UTC(2026, 5, 30))).toBe(false);
    expect(isOldRelease('2025c', Date.UTC(2026, 6, 2))).toBe(true);
    expect(isOldRelease('', Date.UTC(2026, 6, 2))).toBe(true);
  });
});
