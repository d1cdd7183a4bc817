import { execFileSync, spawn } from 'node:child_process';
import { copyFile, mkdtemp, readdir, rm } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Sqlite } from '../sqlite.js';
import { owner, Visitor } from '../web/clinic.js';
import { type RunningService, startServe } from './service.js';

let folder: string;
let running: RunningService;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-stopping-'));
  running = await startServe(folder);
});
afterEach(async () => {
  running.child.kill('SIGKILL');
  await running.gone;
  await rm(folder, { recursive: true, force: true });
});

const databaseFiles = async () => (await readdir(folder)).filter((name) => name.startsWith('clinic.db'));

/** Reads the copy of one file alone, as whoever copies "the database" would. */
async function ownersIn(copy: string): Promise<unknown> {
  await copyFile(join(folder, 'clinic.db'), copy);
  const alone = new Sqlite(copy, { readonly: true });
  try {
    expect(alone.pragma('integrity_check', { simple: true })).toBe('ok');
    return alone.prepare('select name from clinician').pluck().all();
  } finally {
    alone.close();
  }
}

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

describe.each(['SIGINT', 'SIGTERM'] as const)('%s', (signal) => {
  it('ends the service with code 0, no children, and a database file that is whole by itself', async () => {
    await new Visitor(() => running.address).post(new URL(running.link ?? '').pathname, owner);
    expect(await databaseFiles(), 'what it needs while it runs').toEqual(
      expect.arrayContaining(['clinic.db', 'clinic.db-wal', 'clinic.db.lock']),
    );
    const { pid = 0 } = running.child;
    // To the whole group and once more to the process, as npm and a terminal do.
    process.kill(-pid, signal);
    process.kill(pid, signal);
    expect(await running.gone).toEqual({ code: 0, signal: null });
    expect(await databaseFiles()).toEqual(['clinic.db']);
    expect(await ownersIn(join(folder, 'copied.db'))).toEqual([owner.name]);
    const isRunning = () =>
      execFileSync('ps', ['-eo', 'pgid=']).toString().split(/\s+/).includes(String(pid));
    // What reads from a pipe ends when the service at its other end has.
    await expect.poll(isRunning, { timeout: 5_000 }).toBe(false);
  });
});

describe('a service that has something under way when it is to stop', () => {
  it('ends within half a minute all the same, and whole', async () => {
    await hangingRequest();
    const startedAt = performance.now();
    running.child.kill('SIGTERM');
    expect(await running.gone).toEqual({ code: 0, signal: null });
    expect(performance.now() - startedAt).toBeLessThan(30_000);
    expect(await databaseFiles()).toEqual(['clinic.db']);
  });

  it('ends at once at a second signal, with the number of that signal', async () => {
    await hangingRequest();
    const startedAt = performance.now();
    const again = setInterval(() => running.child.kill('SIGINT'), 100);
    expect(await running.gone).toEqual({ code: 130, signal: null });
    clearInterval(again);
    // Well before it would have given up by itself.
    expect(performance.now() - startedAt).toBeLessThan(15_000);
    running = await startServe(folder);
    expect(running.link, 'it starts again on what was left').not.toBeNull();
  });
});

describe('a service that npm has started', () => {
  it('ends when npm ends the shell between them, which hands no signal on', async () => {
    running.child.kill('SIGKILL');
    await running.gone;
    const serve = `"${process.execPath}" dist/cli/main.js serve & wait`;
    const environment = { ...process.env, npm_command: 'run-script', STILLCOUNT_PORT: '0' };
    const shell = spawn('sh', ['-c', serve], {
      env: { ...environment, STILLCOUNT_DATA: folder },
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    const lines: string[] = [];
    for await (const line of createInterface({ input: shell.stdout })) {
      lines.push(line);
      if (/Ctrl-C/.test(line)) shell.kill('SIGTERM');
    }
    // Its output ends only with the service itself.
    expect(lines.at(-1)).toBe('Stopped.');
    expect(await databaseFiles()).toEqual(['clinic.db']);
  });
});
