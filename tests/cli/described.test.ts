import { spawnSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runHere } from './runHere.js';

/** Nothing may be missing where CI runs: a test that needs it fails there. */
const mayBeMissing = (command: string) =>
  process.env.CI !== 'true' && spawnSync(command, ['--version'], { stdio: 'ignore' }).status !== 0;

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-described-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

/** Prints what a command prints into a file. */
async function kept(...args: string[]): Promise<string> {
  const file = join(folder, args.join('-'));
  const printed = await runHere(args);
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

/** What becomes of a line in zsh, at its own prompt, when the tab key is pressed. */
function completedByZsh(completion: string, line: string): string {
  const script = join(import.meta.dirname, 'completedByZsh.zsh');
  const { stdout, stderr } = spawnSync('zsh', ['-f', script, completion, folder, line], {
    encoding: 'utf8',
    timeout: 20_000,
  });
  expect(stderr).toBe('');
  return (/<(stillcount[^>]*)>/.exec(stdout)?.[1] ?? stdout).trim();
}

describe('what describes the commands', () => {
  it.skipIf(mayBeMissing('bash'))('completes commands and options in bash', async () => {
    const completion = await kept('completion', 'bash');
    expect(offered(completion, ['rend'])).toEqual(['render']);
    expect(offered(completion, ['render', 'program.yaml', '--o'])).toEqual(['--out']);
    const common = ['--quiet', '--verbose', '--help'];
    expect(offered(completion, ['serve', '--'])).toEqual(['--demo', '--new-data', '--json', ...common]);
    expect(offered(completion, ['render', 'prog']), 'left to file names').toEqual(['']);
  });

  it('names every command to zsh, in one voice', async () => {
    const stdout = await readFile(await kept('completion', 'zsh'), 'utf8');
    for (const name of ['render', 'inspect', 'restore'])
      expect(stdout).toMatch(new RegExp(`^    '${name}:`, 'm'));
    const told = [...stdout.matchAll(/^ {4}'[a-z-]+:(.*)'$|'--?[a-z-]+\[([^\]]*)\]/gm)];
    expect(told.length).toBeGreaterThan(40);
    for (const [, ofCommand, ofOption] of told)
      expect(ofCommand ?? ofOption, 'in lower case and without a full stop').toMatch(/^[a-z][^A-Z].*[^.]$/);
  });

  it.skipIf(mayBeMissing('zsh'))('completes commands, options and file names in zsh', async () => {
    const completion = await kept('completion', 'zsh');
    expect(spawnSync('zsh', ['-n', completion], { encoding: 'utf8' })).toMatchObject({
      status: 0,
      stderr: '',
    });
    expect(completedByZsh(completion, 'stillcount rend')).toBe('stillcount render');
    expect(completedByZsh(completion, 'stillcount owner-link --clear')).toBe(
      'stillcount owner-link --clear-second-step',
    );
    expect(completedByZsh(completion, 'stillcount serve --verb')).toBe('stillcount serve --verbose');
    await writeFile(join(folder, 'evening.yaml'), '');
    expect(completedByZsh(completion, 'stillcount render eve')).toBe('stillcount render evening.yaml');
    expect(completedByZsh(completion, 'stillcount render --out x eve')).toBe(
      'stillcount render --out x evening.yaml',
    );
  });

  it('is a manual that man reads without a warning, with every command', async (context) => {
    const manual = await kept('manual');
    const { stdout: help } = await runHere(['--help']);
    const names = [...help.matchAll(/^ {2}([a-z][a-z-]+) /gm)].map(([, name = '']) => name);
    expect(names.length).toBeGreaterThan(10);
    context.skip(mayBeMissing('groff'), 'nothing reads it here: no groff (Debian: groff-base)');
    const read = spawnSync('groff', ['-man', '-Tascii', '-ww', '-P-cbou', manual], { encoding: 'utf8' });
    expect(read.stderr).toBe('');
    for (const name of names) expect(read.stdout).toMatch(new RegExp(`^   ${name}\\b`, 'm'));
  });

  it('refuses a shell that it cannot complete', async () => {
    expect(await runHere(['completion', 'dash'])).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('bash, zsh'),
    });
  });
});
