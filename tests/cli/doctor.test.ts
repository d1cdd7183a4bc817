import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { mkdir, mkdtemp, readdir, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openMailServerForTest, type TestMailServer } from '../channels/mailServer.js';
import { owner, Visitor } from '../support/clinic.js';
import { shareSpoken } from '../support/spokenCache.js';
import { runHere } from './runHere.js';
import { finished, runStillcount } from './runStillcount.js';
import { type RunningService, startServe } from './service.js';

/** Where CI runs, nothing may be missing. */
const lacksGpg =
  process.env.CI !== 'true' && spawnSync('gpg', ['--version'], { stdio: 'ignore' }).status !== 0;
/** A line of the page without what differs from one machine, hour or clinic to another. */
const masked = (line: string) =>
  line
    .replace(/^(Node\.js|ok +(?:time zones|schema)| {2}[A-Z_]+ =) .*/, '$1')
    .replaceAll(/\d{4}-\d\d-\d\dT\d\d:\d\dZ/g, 'TIME')
    .replaceAll(/[\w.-]+:\d+/g, 'HOST')
    .replaceAll(/ \/\S+/g, ' PATH')
    .replaceAll(/\d+([.]\d+)?/g, 'N');
/** A program that gives another one a terminal, in the manner of util-linux. */
const hasTerminal =
  process.platform === 'linux' && spawnSync('script', ['--version'], { stdio: 'ignore' }).status === 0;

let folder: string;
let service: RunningService;
let mail: TestMailServer;
let environment: Record<string, string>;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-doctor-'));
  shareSpoken(folder);
  mail = await openMailServerForTest();
  environment = {
    STILLCOUNT_DATA: folder,
    STILLCOUNT_ADDRESS: 'https://clinic.example.org',
    STILLCOUNT_MAIL_URL: `smtp://127.0.0.1:${mail.port}`,
    STILLCOUNT_MAIL_FROM: 'clinic@example.org',
  };
  service = await startServe(folder, environment);
  await new Visitor(() => service.address).post(new URL(service.link ?? '').pathname, owner);
  service.child.kill('SIGTERM');
  await service.gone;
  // At its second start there is a clinic to back up.
  service = await startServe(folder, environment);
});
afterAll(async () => {
  service.child.kill('SIGKILL');
  await service.gone;
  await mail.stop();
  await rm(folder, { recursive: true, force: true });
});

describe('stillcount serve', () => {
  it('says at its start what was looked at, one line each', () => {
    const said = service.printed.join('\n');
    for (const name of [
      'encoder',
      'voice',
      'disk',
      'clock',
      'database',
      'schema',
      'channels',
      'backup folder',
    ])
      expect(said).toMatch(new RegExp(`^(ok|WARNING) +${name} `, 'm'));
    expect(said).toContain(`the mail server 127.0.0.1:${mail.port} answers`);
  });
});

describe('stillcount doctor', () => {
  it('makes a session, sends a mail, restores the newest backup, beside the running service', async () => {
    await expect.poll(async () => (await fetch(`${service.address}/readyz`)).status).toBe(200);
    const page = await runStillcount(['doctor', '--mail', 'ada@example.org'], environment);
    // A line every ten seconds, on a machine that is as slow as that.
    expect(page.stderr).toMatch(/^(Trying out: [a-z, ]+: running for \d+ s\n)*$/);
    expect(page.stdout).toMatch(
      /^ok +session +(9|1[0-2]) s spoken, encoded and measured: all \d+ checks passed/m,
    );
    expect(page.stdout).toMatch(/^ok +database file +\S+clinic\.db is intact/m);
    expect(page.stdout).toMatch(/^ok +test mail /m);
    expect(mail.received.map(({ to }) => to)).toEqual([['ada@example.org']]);
    expect(page.stdout).toMatch(/^ok +backup +1 in /m);
    expect(page.stdout).toMatch(
      /^ok +restore +the newest backup was restored into a scratch database: \d+ rows/m,
    );
    expect(page.stdout).toContain(`STILLCOUNT_DATA = ${folder}`);
    expect(page).toMatchObject({ code: 0, stdout: expect.stringContaining('No faults.') });
    expect(page.stdout.split('\n').length, 'one page').toBeLessThan(60);
    const chapter = await readFile(join('src', 'guide', 'chapters', 'watching.md'), 'utf8');
    const shown = /```text\n(Stillcount doctor[\s\S]*?)```/.exec(chapter)?.[1] ?? '';
    expect(shown.split('\n').map(masked)).toEqual(page.stdout.split('\n').map(masked));
  });
});

describe('beside a service that was stopped', () => {
  const run = (...args: string[]) => runStillcount(args, environment);
  const here = (...args: string[]) => runHere(args, environment);
  const databaseFiles = async () => (await readdir(folder)).filter((name) => name.startsWith('clinic.db'));
  let file: string;
  beforeAll(async () => {
    file = join(folder, 'everything.backup');
    service.child.kill('SIGTERM');
    await service.gone;
  });

  it('a backup leaves nothing beside the database, for its owner only, and replaces none', async () => {
    const made = await run('backup', file, '--json');
    expect(made).toMatchObject({ code: 0, stderr: '' });
    expect(JSON.parse(made.stdout)).toEqual({ file, rows: expect.any(Number) });
    expect((await stat(file)).mode & 0o777).toBe(0o600);
    expect(await databaseFiles()).toEqual(['clinic.db']);
    const before = await readFile(file);
    expect(await here('backup', file)).toMatchObject({
      ...{ code: 2, stdout: '' },
      stderr: expect.stringMatching(/everything\.backup: this already exists[\s\S]*--force to replace it/),
    });
    expect(await readFile(file)).toEqual(before);
    expect(await here('backup', file, '--force', '--quiet')).toEqual({ code: 0, stdout: '', stderr: '' });
  });

  it('a link for an owner can be read by a program', async () => {
    const made = await run('owner-link', '--email', owner.email, '--json');
    expect(JSON.parse(made.stdout)).toEqual({
      link: expect.stringMatching(/^https:\/\/clinic\.example\.org\/reset-password\/\S+$/),
      until: expect.stringMatching(/^\d{4}-.*Z$/),
      clearsSecondStep: false,
    });
    expect(await databaseFiles()).toEqual(['clinic.db']);
  });

  it('a backup is restored from standard input', async () => {
    const elsewhere = { ...environment, STILLCOUNT_DATA: join(folder, 'restored') };
    const restored = await runStillcount(['restore', '-', '--json'], elsewhere, await readFile(file, 'utf8'));
    expect(JSON.parse(restored.stdout)).toEqual({ rows: expect.any(Number) });
    expect((await stat(join(folder, 'restored'))).mode & 0o777).toBe(0o700);
  });

  it.skipIf(lacksGpg)('a backup that was encrypted as the guide says is restored (needs gpg)', async () => {
    const chapter = await readFile(join('src', 'guide', 'chapters', 'backup.md'), 'utf8');
    const [encrypt = '', decrypt = ''] = chapter.match(/^gpg --(symmetric|decrypt) [^|\n]+/gm) ?? [];
    const home = join(folder, 'gnupg');
    await mkdir(home, { mode: 0o700 });
    // What would be asked for on a terminal.
    const asked = '--batch --quiet --pinentry-mode loopback --passphrase secret';
    const gpg = (line: string) =>
      execFileSync(
        'gpg',
        `--homedir ${home} ${asked} ${line.trim().replace('gpg ', '')}`
          .replaceAll('today.backup', join(folder, 'today.backup'))
          .split(' '),
      );
    try {
      await here('backup', join(folder, 'today.backup'));
      gpg(encrypt);
      const encrypted = await readFile(join(folder, 'today.backup.gpg'));
      expect(encrypted.includes(owner.email)).toBe(false);
      const elsewhere = { ...environment, STILLCOUNT_DATA: join(folder, 'scratch') };
      const restored = await runStillcount(['restore', '-', '--json'], elsewhere, String(gpg(decrypt)));
      expect(restored).toMatchObject({ code: 0, stdout: expect.stringMatching(/"rows": [1-9]/) });
    } finally {
      spawnSync('gpgconf', ['--homedir', home, '--kill', 'all']);
    }
  });

  it('a second, empty data folder is refused, and both are named', async () => {
    const mistyped = join(folder, 'restord');
    const refused = await runHere(['serve'], { ...environment, STILLCOUNT_DATA: mistyped });
    expect(refused).toMatchObject({ code: 2, stdout: '' });
    for (const part of [mistyped, `STILLCOUNT_DATA=${join(folder, 'restored')}`, '--new-data'])
      expect(refused.stderr).toContain(part);
    expect(await readdir(folder)).not.toContain('restord');
  });

  it.skipIf(!hasTerminal)(
    'on a terminal a second, empty data folder is asked about (util-linux)',
    async () => {
      const second = { ...environment, STILLCOUNT_DATA: join(folder, 'second'), STILLCOUNT_PORT: '0' };
      // In place of the shell: Ctrl-C goes to whatever runs on the terminal, and some shells end by it whatever their
      // command does.
      const serve = `exec "${process.execPath}" "${resolve('dist', 'cli', 'main.js')}" serve`;
      /** Types each answer once something is shown, as somebody at a terminal does. */
      const typed = async (...answers: [shown: RegExp, keys: string][]) => {
        const terminal = spawn('script', ['-qec', serve, '/dev/null'], {
          env: { ...process.env, ...second },
        });
        const left = [...answers];
        let shown = '';
        terminal.stdout.on('data', (chunk: Buffer) => {
          shown += chunk.toString();
          if (left[0]?.[0].test(shown) === true) terminal.stdin.write(left.shift()?.[1] ?? '');
        });
        return { ...(await finished(terminal)), shown };
      };
      const question = /Start a new, empty clinic in \S+second\? \(y\/N\) /;
      const no = await typed([question, '\n']);
      expect(no.code, no.shown).toBe(2);
      expect(no.shown).toContain(`There is no clinic in ${second.STILLCOUNT_DATA}, but one in `);
      expect(no.shown).toContain('to start a new one, add --new-data');
      expect(await readdir(folder)).not.toContain('second');
      const yes = await typed([question, 'y\n'], [/Ctrl-C stops it/, '\u0003']);
      expect(yes.code, yes.shown).toBe(0);
      expect(yes.shown).toContain('Set up your clinic here');
      expect(yes.shown).toContain('Stopped.');
    },
  );
});

describe('stillcount doctor, where something is wrong', () => {
  it('ends with 1, names the fault and what to do, and goes on with the rest', async () => {
    const wrong = { STILLCOUNT_FFMPEG: '/nowhere/ffmpeg', STILLCOUNT_DATA: join(folder, 'restored') };
    shareSpoken(wrong.STILLCOUNT_DATA);
    const examined = await runHere(['doctor', '--json'], wrong);
    const { checked }: { checked: { name: string; state: string; toDo: string | null }[] } = JSON.parse(
      examined.stdout,
    );
    expect(examined.code).toBe(1);
    const faults = checked.filter(({ state }) => state === 'fault');
    expect(faults.map(({ name }) => name).sort()).toEqual(['encoder', 'session']);
    expect(faults[0]?.toDo).toContain('STILLCOUNT_FFMPEG');
    expect(checked.find(({ name }) => name === 'database file')?.state).toBe('ok');
  });
});

describe('stillcount settings', () => {
  it('lists every setting, and fails for one that it does not know or that a start refuses', async () => {
    const listed = await runStillcount(['settings', '--json'], { STILLCOUNT_DATA: folder });
    expect(JSON.parse(listed.stdout)).toMatchObject({ problems: [] });
    expect(listed.code).toBe(0);
    const wrong = await runHere(['settings'], { STILLCOUNT_PROT: '80' });
    expect(wrong).toMatchObject({
      code: 1,
      stdout: expect.stringContaining('did you mean STILLCOUNT_PORT?'),
    });
    const unread = {
      ...{ STILLCOUNT_MAIL_URL: 'nonsense', STILLCOUNT_MAIL_FROM: 'clinic@example.org' },
      ...{ STILLCOUNT_TEXT_URL: 'foo', STILLCOUNT_TEXT_SECRET: 'x' },
      STILLCOUNT_VOICE_COMMAND: '["no-such"',
    };
    const listedSo = await runHere(['settings', '--json'], unread);
    const { problems }: { problems: { path: string }[] } = JSON.parse(listedSo.stdout);
    expect(listedSo.code).toBe(1);
    const wrongly = Object.keys(unread).filter((name) => name !== 'STILLCOUNT_MAIL_FROM');
    expect(problems.map(({ path }) => path).toSorted()).toEqual(wrongly.toSorted());
    const started = await runHere(['serve', '--new-data'], {
      ...unread,
      STILLCOUNT_DATA: join(folder, 'unread'),
    });
    expect(started).toMatchObject({ code: 2, stdout: '' });
    for (const { path } of problems) expect(started.stderr).toContain(`environment, ${path}: `);
    expect(await readdir(folder), 'nothing is begun').not.toContain('unread');
    const refused = await runHere(['voices'], { STILLCOUNT_PROT: '80' });
    expect(refused).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('did you mean STILLCOUNT_PORT?'),
    });
  });
});
