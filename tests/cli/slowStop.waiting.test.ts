import { spawnSync } from 'node:child_process';
import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { type RunningService, startServe } from './service.js';

let folder: string;
let running: RunningService;
/** All on one folder, each on what the one before it left. */
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-slow-stop-'));
});
afterEach(async () => {
  running.child.kill('SIGKILL');
  await running.gone;
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const databaseFiles = async () => (await readdir(folder)).filter((name) => name.startsWith('clinic.db'));

/** A request that is never finished. */
async function hangingRequest(): Promise<{ end: () => void }> {
  const { hostname, port } = new URL(running.address);
  const socket = connect(Number(port), hostname);
  socket.on('error', () => undefined);
  await new Promise((resolve) =>
    socket.write('POST /sign-in HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\n\r\n', resolve),
  );
  // An answer to a later request tells that the service has read this one.
  await fetch(`${running.address}/sign-in`);
  return { end: () => socket.destroy() };
}

describe('a service that has something under way when it is to stop', () => {
  it('ends within half a minute all the same, and whole', async () => {
    running = await startServe(folder);
    await hangingRequest();
    const startedAt = performance.now();
    running.child.kill('SIGTERM');
    expect(await running.gone).toEqual({ code: 0, signal: null });
    expect(performance.now() - startedAt).toBeLessThan(30_000);
    expect(await databaseFiles()).toEqual(['clinic.db']);
  });

  it('ends at once at a second signal, with the number of that signal', async () => {
    running = await startServe(folder);
    await hangingRequest();
    const startedAt = performance.now();
    const again = setInterval(() => running.child.kill('SIGINT'), 100);
    expect(await running.gone).toEqual({ code: 130, signal: null });
    clearInterval(again);
    // Well before it would have given up by itself.
    expect(performance.now() - startedAt).toBeLessThan(10_000);
  });
});

it('starts where there is no network at all, on what one that was cut short has left', async (context) => {
  const canTry = spawnSync('unshare', ['--net', 'true'], { stdio: 'ignore' }).status === 0;
  context.skip(!canTry, 'nothing here may take the network away: root may, on Linux');
  running = await startServe(folder, {}, ['--new-data'], ['unshare', '--net']);
  expect(running.link).not.toBeNull();
  running.child.kill('SIGTERM');
  expect(await running.gone).toEqual({ code: 0, signal: null });
});
