import { execFile, spawnSync } from 'node:child_process';
import { watch } from 'node:fs';
import { mkdir, mkdtemp, readdir, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { timedScriptSchema } from '../../src/script/timedScript.js';
import { fakeFfmpeg } from '../ffmpeg/fakeFfmpeg.js';
import { shareSpoken } from '../support/spokenCache.js';
import { runHere } from './runHere.js';
import { finished, runStillcount, startStillcount } from './runStillcount.js';

const execute = promisify(execFile);
const program = `format: stillcount-program/1
title: Short evening program
listener: { name: Rosa }
exercises:
  - { exercise: head-press, dose: { reps: 3, holdSeconds: 3 } }
`;
const sessionFiles = ['session.mp3', 'session.script.json', 'session.txt', 'session.vtt'];

let folder: string;
let programFile: string;
let out: string;
let environment: Record<string, string>;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-cli-'));
  programFile = join(folder, 'evening.yaml');
  out = join(folder, 'made');
  environment = { STILLCOUNT_DATA: join(folder, 'data') };
  // What others have spoken will do here; in every other folder the voice begins anew.
  shareSpoken(join(folder, 'data'));
  await writeFile(programFile, program);
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const run = (...args: string[]) => runStillcount(args, environment);
const here = (...args: string[]) => runHere(args, environment);

/** Every file of the earlier session with its bytes. */
async function earlierSession(): Promise<[string, string][]> {
  const names = (await readdir(out)).sort();
  return Promise.all(
    names.map(
      async (name): Promise<[string, string]> => [name, (await readFile(join(out, name))).toString('base64')],
    ),
  );
}

describe('stillcount render', () => {
  it('writes four files that agree with each other and pass their inspection', async () => {
    const rendered = await run('render', programFile, '--out', out, '--json');
    expect(rendered.code).toBe(0);
    // How far it is may be told, on a machine where speaking takes longer than ten seconds.
    expect(rendered.stderr).toMatch(/^(Speaking: \d+ of \d+\n)*$/);
    const summary = JSON.parse(rendered.stdout) as { files: string[]; durationMs: number };
    expect((await readdir(out)).sort()).toEqual(sessionFiles);
    expect(summary.files).toHaveLength(4);
    const script = timedScriptSchema.parse(
      JSON.parse(await readFile(join(out, 'session.script.json'), 'utf8')),
    );
    expect(script.durationMs).toBe(summary.durationMs);

    const args = ['inspect', join(out, 'session.mp3'), '--against', join(out, 'session.script.json')];
    const inspected = await here(...args, '--json');
    expect(inspected.code).toBe(0);
    expect(JSON.parse(inspected.stdout)).toMatchObject({ passed: true });

    const shown = await here('script', programFile, '--json');
    expect(JSON.parse(shown.stdout)).toEqual(script);
    expect((await here('script', programFile)).stdout).toContain('3 holds of 3 s, 9 s under tension');
  });

  it('reads a program from standard input', async () => {
    const read = await runStillcount(['script', '-', '--json'], environment, program);
    expect(read.stdout).toBe((await here('script', programFile, '--json')).stdout);
    const args = ['render', '-', '--out', out, '--force'];
    const wrong = await runStillcount(args, environment, `${program}voice: none\n`);
    expect(wrong).toMatchObject({ code: 2, stderr: expect.stringMatching(/^standard input, voice: /) });
  });

  it('measures a session from standard input', async () => {
    const inspected = await runStillcount(
      ['inspect', '-', '--json'],
      environment,
      await readFile(join(out, 'session.mp3')),
    );
    expect(JSON.parse(inspected.stdout)).toMatchObject({ passed: true });
  });

  it('replaces no session without being told to, and names what is there', async () => {
    const before = await earlierSession();
    const refused = await here('render', programFile, '--out', out);
    expect(refused).toMatchObject({ code: 2, stdout: '' });
    for (const name of sessionFiles)
      expect(refused.stderr).toContain(`${join(out, name)}: this already exists`);
    expect(refused.stderr).toContain('--force');
    expect(await earlierSession()).toEqual(before);
  });

  it('writes for its owner only', async () => {
    expect((await stat(out)).mode & 0o777).toBe(0o700);
    for (const name of sessionFiles) expect((await stat(join(out, name))).mode & 0o777).toBe(0o600);
  });

  it('gives the same bytes again, and with another data folder; with results alone, or with its times', async () => {
    const before = await earlierSession();
    const again = ['render', programFile, '--out', out, '--force'];
    expect(await run(...again, '--quiet')).toEqual({
      ...{ code: 0, stderr: '' },
      stdout: ['mp3', 'vtt', 'script.json', 'txt']
        .map((end) => `  ${join(out, `session.${end}`)}\n`)
        .join(''),
    });
    expect(await earlierSession()).toEqual(before);
    const elsewhere = { STILLCOUNT_DATA: join(folder, 'other data') };
    const told = await runStillcount([...again, '--verbose'], elsewhere);
    expect(told.code).toBe(0);
    expect((await stat(join(folder, 'other data'))).mode & 0o777, 'spoken names lie in it').toBe(0o700);
    for (const part of [
      'read the program',
      'speak and make the session',
      'write the files',
      'render as a whole',
    ])
      expect(told.stderr).toMatch(new RegExp(`^${part}: [\\d.]+ (ms|s)$`, 'm'));
    expect(await here('render', programFile, '-q', '-v')).toMatchObject({ code: 2 });
    expect(await earlierSession()).toEqual(before);
  });

  it('shows a bar on a terminal and only there', async () => {
    const hasScript = spawnSync('script', ['--version']).status === 0;
    if (!hasScript) return expect(process.env.CI, 'util-linux `script` gives the terminal').not.toBe('true');
    const command = `${process.execPath} ${join('dist', 'cli', 'main.js')} script ${programFile}`;
    const onTerminal = await execute('script', ['-qec', command, '/dev/null'], {
      env: { ...process.env, ...environment },
    });
    expect(onTerminal.stdout).toContain('Speaking');
    const inPipe = await run('script', programFile);
    expect(`${inPipe.stdout}${inPipe.stderr}`).not.toMatch(/Speaking [^:]/);
  });

  it('leaves nothing half-written when it is interrupted', async () => {
    const data = join(folder, 'interrupted data');
    const target = join(folder, 'interrupted');
    await mkdir(data);
    const child = startStillcount(['render', programFile, '--out', target], { STILLCOUNT_DATA: data });
    const ended = finished(child);
    await new Promise<void>((resolve) => {
      // The first kept clip shows that the work is under way.
      const watcher = watch(data, { recursive: true }, () => {
        watcher.close();
        resolve();
      });
    });
    child.kill('SIGINT');
    expect((await ended).code).toBe(130);
    await expect(readdir(target)).rejects.toMatchObject({ code: 'ENOENT' });
    const left = await readdir(data, { recursive: true });
    expect(left.filter((name) => name.endsWith('.part'))).toEqual([]);
  });
});

describe('stillcount render with wrong input', () => {
  const wrong: [string, string, RegExp][] = [
    ['is not YAML', 'exercises: [', /wrong\.yaml, line 1: this is not valid YAML/],
    ['has an unknown key', `${program}tempo: 3\n`, /tempo: unknown key[\s\S]*found[\s\S]*allowed/],
    ['names no exercise we know', program.replace('head-press', 'head-pres'), /did you mean head-press\?/],
    [
      'wants 10,000 repetitions',
      program.replace('reps: 3', 'reps: 10000'),
      /found: +10000\n +allowed: 3 to 12/,
    ],
    ['wants a negative rest', program.replace('reps: 3', 'restSeconds: -1'), /restSeconds: too small/],
    ['names no voice we know', `${program}voice: embedded:slx\n`, /wrong\.yaml, voice: [\s\S]*embedded:slt/],
    ['leaves no room for its words', `${program}timeBudgetMinutes: 1\n`, /timeBudgetMinutes[\s\S]*at least/],
  ];

  it.each(wrong)('that %s exits with 2 and one clear message', async (_case, text, message) => {
    const before = await earlierSession();
    const wrongFile = join(folder, 'wrong.yaml');
    await writeFile(wrongFile, text);
    const result = await here('render', wrongFile, '--out', out, '--force');
    expect(result.code).toBe(2);
    expect(result.stdout).toBe('');
    expect(result.stderr).toMatch(message);
    expect(result.stderr).not.toMatch(/^ +at /m);
    expect(await earlierSession()).toEqual(before);
  });

  it('on the command line exits with 2', async () => {
    expect(await here('render')).toMatchObject({ code: 2, stderr: expect.stringContaining('program') });
    expect(await here('render', join(folder, 'none.yaml'))).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('there is no such file'),
    });
    expect(await run('render', programFile, '--colour')).toMatchObject({ code: 2, stdout: '' });
    expect(await here('inspect', programFile)).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('this is not an MP3 file'),
    });
  });
});

describe('stillcount render when the work fails', () => {
  async function failing(
    args: readonly string[],
    faults: Record<string, string>,
    message: RegExp,
  ): Promise<void> {
    const before = await earlierSession();
    const result = await runHere(['render', programFile, '--force', ...args], {
      ...environment,
      ...faults,
    });
    expect(result.stderr).toMatch(message);
    expect(result.stderr).not.toMatch(/^ +at /m);
    expect(result.code).toBe(1);
    expect(await earlierSession()).toEqual(before);
  }

  it('because the voice fails, says what the voice said', async () => {
    const script = 'process.stderr.write("no such speaker"); process.exit(3)';
    const command = JSON.stringify([process.execPath, '-e', script]);
    await failing(
      ['--out', out, '--voice', 'command'],
      { STILLCOUNT_VOICE_COMMAND: command },
      /no such speaker/,
    );
  });

  it('because ffmpeg is missing', async () => {
    const faults = { STILLCOUNT_FFMPEG: join(folder, 'no-ffmpeg'), STILLCOUNT_DATA: join(folder, 'data 2') };
    await failing(['--out', out], faults, /ffmpeg/);
  });

  it('because ffmpeg dies half-way', async () => {
    // Another build: what the usual one has encoded does not do for it. What was spoken does.
    const dying = await fakeFfmpeg(
      'head -c 50000 >/dev/null; kill -9 $$',
      '"$REAL" "$@"; echo another build',
    );
    await failing(['--out', out], { STILLCOUNT_FFMPEG: dying }, /ffmpeg/);
  });

  it('because the folder cannot be written', async () => {
    await failing(['--out', join(programFile, 'inside')], {}, /a part of the path is a file, not a folder/);
  });

  it('because the disk is full', async (context) => {
    const small = join(folder, 'small disk');
    await mkdir(small);
    const mounted = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=64k', 'tmpfs', small]).status === 0;
    if (!mounted) context.skip('skipped: a small disk can only be mounted as root');
    try {
      await failing(['--out', join(small, 'made')], {}, /the disk is full/);
      const left = await readdir(small, { recursive: true, withFileTypes: true });
      expect(left.filter((entry) => entry.isFile())).toEqual([]);
    } finally {
      spawnSync('umount', [small]);
    }
  });
});
