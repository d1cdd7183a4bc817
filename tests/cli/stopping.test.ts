import { execFileSync, spawn } from 'node:child_process';
import { copyFile, mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openStore } from '../../src/store/engine/openStore.js';
import { openMailServerForTest } from '../channels/mailServer.js';
import { fakeFfmpeg } from '../ffmpeg/fakeFfmpeg.js';
import { Sqlite } from '../sqlite.js';
import { addPerson, giveLink, owner, person, screen, signShortProgram, Visitor } from '../support/clinic.js';
import { type RunningService, startServe } from './service.js';

let folder: string;
let running: RunningService | undefined;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-stopping-'));
});
afterEach(async () => {
  running?.child.kill('SIGKILL');
  await running?.gone;
  running = undefined;
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

describe.each(['SIGINT', 'SIGTERM'] as const)('%s', (signal) => {
  it('ends the service with code 0, no children, and a database file that is whole by itself', async () => {
    const service = await startServe(folder);
    running = service;
    await new Visitor(() => service.address).post(new URL(service.link ?? '').pathname, owner);
    expect(await databaseFiles(), 'what it needs while it runs').toEqual(
      expect.arrayContaining(['clinic.db', 'clinic.db-wal', 'clinic.db.lock']),
    );
    const { pid = 0 } = service.child;
    // To the whole group and once more to the process, as npm and a terminal do.
    process.kill(-pid, signal);
    process.kill(pid, signal);
    expect(await service.gone).toEqual({ code: 0, signal: null });
    expect(await databaseFiles()).toEqual(['clinic.db']);
    expect(await ownersIn(join(folder, 'copied.db'))).toEqual([owner.name]);
    const isRunning = () =>
      execFileSync('ps', ['-eo', 'pgid=']).toString().split(/\s+/).includes(String(pid));
    // What reads from a pipe ends when the service at its other end has.
    await expect.poll(isRunning, { timeout: 5_000 }).toBe(false);
  });
});

/** The processes that a process has begun, and those that they have begun, by their ids; from Linux itself. */
async function childrenOf(pid: number): Promise<{ pid: number; command: string }[]> {
  const all = (await readdir('/proc')).filter((name) => /^\d+$/.test(name));
  const found = await Promise.all(
    all.map(async (name) => {
      // "pid (command) state parent ...": the command may hold anything.
      const stat = await readFile(join('/proc', name, 'stat'), 'utf8').catch(() => '');
      const [state, parent] = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
      // One that has ended and was not asked how is there by name only.
      if (parent !== String(pid) || state === 'Z') return [];
      const command = await readFile(join('/proc', name, 'cmdline'), 'utf8').catch(() => '');
      return [{ pid: Number(name), command }, ...(await childrenOf(Number(name)))];
    }),
  );
  return found.flat();
}

/** Whether a process still does anything. */
async function isAtWork(pid: number): Promise<boolean> {
  const stat = await readFile(join('/proc', String(pid), 'stat'), 'utf8').catch(() => null);
  return stat !== null && !stat.slice(stat.lastIndexOf(')') + 2).startsWith('Z');
}

describe.skipIf(process.platform !== 'linux')('a service that is stopped under load', () => {
  it('finishes the session that is being made, records the mail without an answer, and leaves no child', async () => {
    const mail = await openMailServerForTest();
    mail.behaviour = 'hold-answer';
    const earlier = { kind: 'sqlite' as const, file: join(folder, 'clinic.db') };
    await (await openStore(earlier, '0011-accounts')).close();
    const service = await startServe(folder, {
      STILLCOUNT_FFMPEG: await fakeFfmpeg('sleep 2; exec "$REAL" "$@"'),
      STILLCOUNT_MAIL_URL: `smtp://127.0.0.1:${mail.port}`,
      STILLCOUNT_MAIL_FROM: 'clinic@example.org',
      STILLCOUNT_ADDRESS: 'https://clinic.example.org',
    });
    running = service;
    const backups = join(folder, 'backups');
    const copy = (await readdir(backups)).find((name) => name.startsWith('after-0011-accounts-')) ?? 'none';
    expect(service.printed, 'where everything is as it was before the upgrade').toContain(
      `The database was upgraded. A copy from before the upgrade: ${join(backups, copy)}`,
    );
    const ada = new Visitor(() => service.address);
    await ada.post(new URL(service.link ?? '').pathname, owner);
    const rosa = await addPerson(ada, person);
    await screen(ada, rosa, []);
    await signShortProgram(ada, rosa);
    const { path: link } = await giveLink(ada, rosa);
    const newPassword = 'five quite other words here';
    await ada.submit('/account/password', { password: owner.password, newPassword });
    await mail.hold.held();
    const plan = await (await ada.get(`${link}plan.json`)).text();
    const audio = /"audio":"([^"]+)"/.exec(plan)?.[1] ?? 'none';
    const asked = ada.get(`${link}${audio}`).then(async (answer) => ({
      status: answer.status,
      length: answer.headers.get('content-length'),
      bytes: (await answer.arrayBuffer()).byteLength,
    }));
    const { pid = 0 } = service.child;
    const commands = async () => (await childrenOf(pid)).map(({ command }) => command).join('\n');
    await expect.poll(commands, { timeout: 60_000, interval: 50 }).toMatch(/ffmpeg/);
    const children = await childrenOf(pid);
    expect(children.some(({ command }) => command.includes('synthesiserProcess'))).toBe(true);

    const startedAt = performance.now();
    service.child.kill('SIGTERM');
    expect(await service.gone).toEqual({ code: 0, signal: null });
    expect(performance.now() - startedAt).toBeLessThan(20_000);
    const { status, length, bytes } = await asked;
    expect([status, length]).toEqual([200, String(bytes)]);
    for (const child of children)
      await expect.poll(() => isAtWork(child.pid), { message: child.command }).toBe(false);
    expect(await databaseFiles(), 'no lock file is left').toEqual(['clinic.db']);
    const database = new Sqlite(join(folder, 'clinic.db'), { readonly: true });
    const states = database.prepare("select state, why from delivery where state <> 'planned'").all();
    database.close();
    expect(states).toContainEqual(expect.objectContaining({ why: 'answer-unknown' }));
    expect(mail.tries).toBe(1);
    mail.hold.release();
    await mail.stop();
  });
});

describe('a service that npm has started', () => {
  it('ends when npm ends the shell between them, which hands no signal on', async () => {
    await (await openStore({ kind: 'sqlite', file: join(folder, 'clinic.db') })).close();
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
