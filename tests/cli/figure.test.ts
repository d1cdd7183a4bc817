import { mkdtemp, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runHere } from './runHere.js';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-figure-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

describe('stillcount figure', () => {
  it('draws one exercise, for one side and one head support, and says what is to be seen', async () => {
    const out = join(folder, 'reach.svg');
    const ran = await runHere([
      'figure',
      'arm-reach',
      '--out',
      out,
      '--side',
      'left',
      '--head-support',
      'pillow',
    ]);
    expect(ran).toMatchObject({ code: 0, stderr: '' });
    expect(ran.stdout).toContain('head on a pillow');
    expect(ran.stdout).toContain('Left arm overhead');
    expect(await readFile(out, 'utf8')).toMatch(/^<svg xmlns="http:\/\/www.w3.org\/2000\/svg".*<\/svg>$/);
  });

  it('draws all of them on a sheet, as a PNG of its stated size', async () => {
    const out = join(folder, 'all.png');
    expect(await runHere(['figure', '--out', out])).toMatchObject({ code: 0, stderr: '' });
    const png = await readFile(out);
    // PNG (ISO/IEC 15948), 5.2 signature and 11.2.2 image header.
    expect(png.subarray(0, 8).toString('latin1')).toBe('\x89PNG\r\n\x1a\n');
    expect(png.subarray(12, 16).toString('latin1')).toBe('IHDR');
    expect(png.readUInt32BE(16)).toBeGreaterThan(2000);
    expect(png.readUInt32BE(20)).toBeGreaterThan(5000);
  });

  it('refuses what it cannot draw or would replace, and writes nothing', async () => {
    const out = join(folder, 'refused.jpg');
    const refusals = [
      [['figure', 'arm-rech', '--out', out], 'did you mean arm-reach?'],
      [['figure', 'arm-reach', '--out', out], '.svg or .png'],
      [['figure', 'arm-reach', '--out', join(folder, 'reach.svg')], '--force'],
    ] as const;
    for (const [args, said] of refusals) {
      const ran = await runHere([...args]);
      expect(ran.code).toBe(2);
      expect(ran.stderr).toContain(said);
    }
    await expect(stat(out)).rejects.toThrow('ENOENT');
  });
});
