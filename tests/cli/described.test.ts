import { spawnSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runStillcount } from './runStillcount.js';

const isThere = (command: string) => spawnSync(command, ['--version'], { stdio: 'ignore' }).status === 0;

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-described-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

/** Prints what a command prints into a file. */
async function kept(...args: string[]): Promise<string> {
  const file = join(folder, args.join('-'));
  const printed = await runStillcount(args);
  expect(printed).toMatchObject({ code: 0, stderr: '' });
  await writeFile(file, printed.stdout);
  return file;
}

/** What bash offers for a line that is begun. */
function offered(completion: string, words: readonly string[]): string[] {
  const script = `source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _stillcount; echo "\${COMPREPLY[@]}"`;
  const { stdout, stderr } = spawnSync('bash', ['-c', script, 'bash', completion, 'stillcount', ...words], {
    encoding: 'utf8',
  });
  expect(stderr).toBe('');
  return stdout.trim().split(' ');
}

describe('what describes the commands', () => {
  it.skipIf(!isThere('bash'))('completes commands and options in bash', async () => {
    const completion = await kept('completion', 'bash');
    expect(offered(completion, ['rend'])).toEqual(['render']);
    expect(offered(completion, ['render', 'program.yaml', '--o'])).toEqual(['--out']);
    expect(offered(completion, ['serve', '--'])).toEqual(['--demo', '--help']);
    expect(offered(completion, ['render', 'prog']), 'left to file names').toEqual(['']);
  });

  it('names every command to zsh, and is read by it', async () => {
    const completion = await kept('completion', 'zsh');
    if (isThere('zsh')) expect(spawnSync('zsh', ['-n', completion]).status).toBe(0);
    const stdout = await readFile(completion, 'utf8');
    for (const name of ['render', 'inspect', 'restore'])
      expect(stdout).toMatch(new RegExp(`^    '${name}:`, 'm'));
  });

  it('is a manual that man reads without a warning, with every command', async () => {
    const manual = await kept('manual');
    const { stdout: help } = await runStillcount(['--help']);
    const names = [...help.matchAll(/^ {2}([a-z][a-z-]+) /gm)].map(([, name = '']) => name);
    expect(names.length).toBeGreaterThan(10);
    if (!isThere('groff')) return;
    const read = spawnSync('groff', ['-man', '-Tascii', '-ww', '-P-cbou', manual], { encoding: 'utf8' });
    expect(read.stderr).toBe('');
    for (const name of names) expect(read.stdout).toMatch(new RegExp(`^   ${name}\\b`, 'm'));
  });

  it('refuses a shell that it cannot complete', async () => {
    expect(await runStillcount(['completion', 'dash'])).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('bash, zsh'),
    });
  });
});
