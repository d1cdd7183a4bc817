import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startService } from '../../src/service/start.js';
import { Visitor } from '../support/clinic.js';

describe('the demo clinic', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'stillcount-demo-'));
  });
  afterAll(() => rm(folder, { recursive: true, force: true }));

  const start = () =>
    startService(
      {
        STILLCOUNT_DATA: folder,
        STILLCOUNT_PORT: '0',
        STILLCOUNT_TEMPLATES: 'audio-templates',
        // Never touched: the demo has a database of its own.
        DATABASE_URL: 'postgres://nobody@127.0.0.1:1/none',
      },
      () => undefined,
      { isDemo: true },
    );

  it('is made anew each time, with eight weeks of history to look at', async () => {
    const first = await start();
    await expect(start(), 'while it runs').rejects.toThrow('another Stillcount service');
    await first.stop();
    const service = await start();
    const visitor = new Visitor(() => service.address);
    expect((await visitor.post('/sign-in', { ...first.demo })).status, 'the last password').toBe(401);
    expect((await visitor.post('/sign-in', { ...service.demo })).status).toBe(303);
    const home = await (await visitor.get('/')).text();
    expect(home.match(/<strong>Ottilie Brand<\/strong>: Program paused/g)).toHaveLength(1);
    for (const name of ['Rosa Lind', 'Emil Tarn', 'Ines Moor', 'Karl Wend', 'Jonas Perl', 'Leo Hask'])
      expect(home).toContain(name);
    const rosa = /<a href="(\/patients\/[\w-]+)">Rosa Lind/.exec(home)?.[1] ?? '';
    const program = /<a href="(\/prescriptions\/[\w-]+)"/.exec(await (await visitor.get(rosa)).text())?.[1];
    const versions = await (await visitor.get(program ?? '')).text();
    expect(versions).toContain('hold 6 s (was 5 s)');
    expect(versions).toContain('Both-arm raise with a stick: added');
    expect(versions.match(/<h3>Version/g)).toHaveLength(4);
    const signedOn = [...versions.matchAll(/Signed by Ada Brandt on (\w+ \d+, \d{4})/g)].map(([, day = '']) =>
      Date.parse(day),
    );
    const days = (Math.max(...signedOn) - Math.min(...signedOn)) / 86_400_000;
    expect(Math.abs(days - 42), 'one more or less around midnight').toBeLessThanOrEqual(1);
    await service.stop();
  });
});
