import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStore } from '../../src/store/engine/openStore.js';
import { isWhole } from '../long.js';
import { owner, Visitor } from '../support/clinic.js';

/** How often the whole service is killed. */
const kills = isWhole('kills') ? 100 : 5;

let folder: string;
let running: ChildProcess | undefined;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-kill-'));
});
afterAll(async () => {
  running?.kill('SIGKILL');
  await rm(folder, { recursive: true, force: true });
});

/** Starts the service as a clinic would, as a process of its own. */
async function start(): Promise<{ child: ChildProcess; address: string; link: string | null }> {
  const { DATABASE_URL: _none, ...environment } = process.env;
  const child = spawn(process.execPath, [join('dist', 'cli', 'main.js'), 'serve', '--new-data'], {
    env: { ...environment, STILLCOUNT_DATA: folder, STILLCOUNT_PORT: '0' },
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  running = child;
  let address = '';
  let link: string | null = null;
  for await (const line of createInterface({ input: child.stdout })) {
    address = /answers at (\S+)/.exec(line)?.[1] ?? address;
    link = /^\s+(http\S+\/begin\/\S+)/.exec(line)?.[1] ?? link;
    if (/Ctrl-C/.test(line)) break;
  }
  if (address === '') throw new Error('the service did not start');
  return { child, address, link };
}

const gone = (child: ChildProcess) => new Promise((resolve) => child.once('exit', resolve));

describe('the whole service', () => {
  it(`killed ${kills} times under writes loses no acknowledged change and leaves none half done`, {
    timeout: 1_800_000,
  }, async () => {
    let { child, address, link } = await start();
    const visitor = new Visitor(() => address);
    await visitor.post(new URL(link ?? '').pathname, owner);
    const page = await (
      await visitor.submit('/account/keys', { name: 'Writer', mayWrite: 'yes', password: owner.password })
    ).text();
    const key = /<strong class="long">([\w-]{43})<\/strong>/.exec(page)?.[1] ?? '';
    const acknowledged = new Set<string>();
    const write = async (name: string) => {
      const response = await fetch(`${address}/api/v1/people`, {
        method: 'POST',
        headers: { authorization: `Bearer ${key}`, 'content-type': 'application/json' },
        body: JSON.stringify({ name, zone: 'UTC' }),
      });
      if (response.status === 201) acknowledged.add(name);
      return response.status;
    };
    const stops = fc.sample(fc.integer({ min: 0, max: 25 }), kills);
    for (const [round, stopAfter] of stops.entries()) {
      let answered = 0;
      // More are under way than will be answered: the kill comes in the middle of some.
      const writes = Array.from({ length: stopAfter + 8 }, async (_, index) => {
        try {
          expect(await write(`Round ${round}, ${index}`)).toBe(201);
          answered += 1;
        } catch (error) {
          // Not answered, so not promised.
          if (!(error instanceof TypeError)) throw error;
        }
        if (answered >= stopAfter) child.kill('SIGKILL');
      });
      if (stopAfter === 0) child.kill('SIGKILL');
      await Promise.all([...writes, gone(child)]);
      ({ child, address, link } = await start());
    }
    child.kill('SIGTERM');
    await gone(child);
    const store = await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') });
    const kept = await store.read((db) => db.selectFrom('patient').select(['id', 'name']).execute());
    const named = new Set(kept.map(({ name }) => name));
    expect([...acknowledged].filter((name) => !named.has(name))).toEqual([]);
    expect(acknowledged.size, 'many were acknowledged').toBeGreaterThan(kills);
    const ids = kept.map(({ id }) => id).sort();
    const others = await store.read(async (db) => ({
      attention: await db.selectFrom('attention').select('patientId').execute(),
      trail: await db
        .selectFrom('auditEntry')
        .select('patientId')
        .where('action', '=', 'patient-added')
        .execute(),
    }));
    expect(others.attention.map(({ patientId }) => patientId).sort(), 'all of it or nothing').toEqual(ids);
    expect(others.trail.map(({ patientId }) => patientId).sort()).toEqual(ids);
    await store.close();
  });
});
