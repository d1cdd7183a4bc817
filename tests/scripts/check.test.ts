import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { cp, mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { changedFiles } from '../../scripts/check/changedFiles.js';
import { fitInto, nearestTests } from '../../scripts/check/nearestTests.js';
import { lineOf, runParts } from '../../scripts/check/runParts.js';
import { changedBetween, readImporters, readStamps, sourceFiles } from '../../scripts/check/sources.js';

const project = path.resolve(import.meta.dirname, '../..');
const files: Readonly<Record<string, string>> = {
  'src/signal/level.ts': 'export const level = 1;\n',
  'src/audio/mix.ts': "import { level } from '../signal/level.js';\nexport const mix = level;\n",
  'src/http/pages/home/page.ts': 'export const page = 1;\n',
  'src/http/pages/home/page.mustache': '<p>\n',
  'tests/signal/level.test.ts': "import '../../src/signal/level.js';\n",
  'tests/audio/mix.test.ts': "import type { mix } from '../../src/audio/mix.js';\n",
  'tests/audio/mix.browser.test.ts': "import '../../src/audio/mix.js';\n",
  'tests/http/pages/home/home.test.ts': "await import('../../../../src/http/pages/home/page.js');\n",
  'tests/cli/alone.test.ts': '\n',
};

let root = '';
beforeAll(async () => {
  root = await mkdtemp(path.join(tmpdir(), 'stillcount-check-'));
  await write(files);
});
afterAll(() => rm(root, { recursive: true, force: true }));

async function write(texts: Readonly<Record<string, string>>): Promise<void> {
  for (const [name, text] of Object.entries(texts)) {
    await mkdir(path.dirname(path.join(root, name)), { recursive: true });
    await writeFile(path.join(root, name), text);
  }
}

/** The tests that a change reaches, with how far off each is. */
async function reachedBy(...changed: string[]): Promise<Record<string, number>> {
  const all = await sourceFiles(root);
  const near = nearestTests(changed, all, await readImporters(root, all));
  return Object.fromEntries(near.map(({ file, distance }) => [file, distance]));
}

describe('the tests that are run for a change', () => {
  it('are those that import what was changed, the nearest first, without a browser', async () => {
    expect(Object.entries(await reachedBy('src/signal/level.ts'))).toEqual([
      ['tests/signal/level.test.ts', 1],
      ['tests/audio/mix.test.ts', 2],
    ]);
  });

  it('are those beside a template, and those that were changed themselves', async () => {
    expect(await reachedBy('src/http/pages/home/page.mustache')).toEqual({
      'tests/http/pages/home/home.test.ts': 1,
    });
    expect(await reachedBy('tests/cli/alone.test.ts')).toEqual({ 'tests/cli/alone.test.ts': 0 });
  });

  it('are as many as fit into the time, and what is left is told', () => {
    const near = ['a', 'b', 'c'].map((file, distance) => ({ file, distance }));
    const tookMs = new Map(Object.entries({ a: 9_300, b: 30_000, c: 8_300 }));
    expect(fitInto(20_000, near, tookMs)).toEqual({ run: ['a', 'c'], left: ['b'], leftMs: 30_700 });
  });

  it('go by what differs from the trunk, committed or not, or new', () => {
    const git = (...words: string[]) =>
      execFileSync('git', ['-c', 'user.name=t', '-c', 'user.email=t@example.org', ...words], { cwd: root });
    git('init', '--quiet', '--initial-branch=main');
    git('add', 'src');
    git('commit', '--quiet', '--message=first');
    git('checkout', '--quiet', '-b', 'work');
    git('add', 'tests/cli');
    git('commit', '--quiet', '--message=second');
    const untracked = Object.keys(files).filter((name) => name.startsWith('tests/'));
    expect(changedFiles(root)).toEqual(untracked.sort());
    expect(changedFiles(root, 'HEAD')).toEqual(
      untracked.filter((name) => name !== 'tests/cli/alone.test.ts'),
    );
  });
});

describe('a check', () => {
  it('tells how long each part took, what failed with its own words, and runs the rest all the same', async () => {
    const node = (title: string, script: string) => ({
      title,
      command: process.execPath,
      words: ['-e', script],
    });
    const lines: string[] = [];
    const results = await runParts(
      [node('style', 'console.log("odd line"); process.exit(3)'), node('types', 'console.log("fine")')],
      1,
      (result) => lines.push(lineOf(result)),
    );
    expect(results.map(({ code }) => code)).toEqual([3, 0]);
    expect(lines[0]).toMatch(/^\nodd line\nFAILED {2}style +\d+\.\d s$/);
    expect(lines[1]).toMatch(/^ok {6}types +\d+\.\d s$/);
  });

  it('that is watched begins again for what was written, added or taken away', async () => {
    const before = await readStamps(root);
    const written = {
      'src/audio/mix.ts': 'export const mix = 22;\n',
      'src/audio/new.ts': '\n',
      'tsconfig.json': '{}',
    };
    await write(written);
    await rm(path.join(root, 'src/signal/level.ts'));
    expect(changedBetween(before, await readStamps(root))).toEqual([
      'src/audio/mix.ts',
      'src/audio/new.ts',
      'src/signal/level.ts',
      'tsconfig.json',
    ]);
    expect(changedBetween(before, before)).toEqual([]);
  });
});

describe('tests that start what is compiled', () => {
  it('start the newest source when they run again', async () => {
    const tree = await plantWatched('first');
    const watching = watch(tree, [vitestFile, '--watch', '--root', tree]);
    try {
      await expect.poll(watching.said).toContain('the build says first');
      await writeWord(tree, 'second');
      await expect.poll(watching.said).toContain('the build says second');
    } finally {
      await watching.stop();
      await rm(tree, { recursive: true, force: true });
    }
  });

  it('run in a watched check after each change, what failed until it passes, and never end on an earlier build', async () => {
    const tree = await plantWatched('first');
    await plantQuietTools(tree);
    const words = ['--import', 'tsx', 'scripts/check/main.ts', '--since', 'HEAD', '--watch'];
    const watching = watch(tree, words, { PATH: `${path.join(tree, 'bin')}:${process.env.PATH}` });
    const timesIn = (text: string, part: string) => text.split(part).length - 1;
    const rests = () => timesIn(watching.said(), 'Waiting for a change.');
    const heard = () => readFile(path.join(tree, 'output/heard'), 'utf8').catch(() => '');
    try {
      await expect.poll(rests).toBe(1);
      expect(await heard(), 'nothing has changed').toBe('');
      await writeWord(tree, 'second');
      await expect.poll(rests).toBe(2);
      expect(await heard()).toBe('second second\n');
      await writeWord(tree, 'wrong');
      await expect.poll(rests).toBe(3);
      expect(watching.said()).toMatch(/FAILED {2}altogether .* tests\n/);
      await writeFile(path.join(tree, 'src/unrelated.ts'), 'export const unrelated = 1;\n');
      await expect.poll(heard).toMatch(/(wrong wrong\n){2}$/);
      // While that runs.
      await writeWord(tree, 'third');
      await expect.poll(heard).toMatch(/third third\n$/);
      await expect.poll(() => watching.said().split('src/word.ts').at(-1)).toMatch(/ok {6}altogether/);
    } finally {
      await watching.stop();
      await rm(tree, { recursive: true, force: true });
    }
  });
});

const vitestFile = path.join(project, 'node_modules/vitest/vitest.mjs');

/** A small project with the compiling of this one, whose only test imports a source and starts the build of it. */
async function plantWatched(word: string): Promise<string> {
  const tree = await mkdtemp(path.join(project, 'output/watched-'));
  const copied = [
    ...['scripts/build', 'scripts/check', 'src/browser', 'src/http/assets', 'src/listening', 'src/time'],
    ...['tests/compile.ts', 'package.json', 'tsconfig.json'],
  ];
  for (const name of copied) await cp(path.join(project, name), path.join(tree, name), { recursive: true });
  await symlink(path.join(project, 'node_modules'), path.join(tree, 'node_modules'));
  await mkdir(path.join(tree, 'output'));
  await writeFile(
    path.join(tree, 'vitest.config.ts'),
    "export default { test: { projects: [{ test: { name: 'rooms', globalSetup: ['tests/compile.ts'], include: ['tests/**/*.test.ts'] } }] } };\n",
  );
  await writeFile(
    path.join(tree, 'tests/word.test.ts'),
    `import { execFileSync } from 'node:child_process';
import { appendFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { word } from '../src/word.js';
it('is built', () => {
  const built = String(execFileSync(process.execPath, ['-e', "import('./dist/word.js').then((m) => console.log(m.word))"]));
  console.log('the build says ' + built);
  appendFileSync('output/heard', word + ' ' + built);
  expect(built.trim()).toBe(word);
  expect(word).not.toBe('wrong');
});
`,
  );
  await writeWord(tree, word);
  return tree;
}

function writeWord(tree: string, word: string): Promise<void> {
  return writeFile(path.join(tree, 'src/word.ts'), `export const word = '${word}';\n`);
}

/** Leaves the tests of a small project to a check, and makes it a repository: its other tools find no fault. */
async function plantQuietTools(tree: string): Promise<void> {
  await mkdir(path.join(tree, 'bin'));
  for (const tool of ['tsc', 'depcruise', 'biome', 'knip'])
    await writeFile(path.join(tree, 'bin', tool), '#!/bin/sh\n', { mode: 0o755 });
  await symlink(vitestFile, path.join(tree, 'bin/vitest'));
  await writeFile(path.join(tree, '.gitignore'), 'output\nnode_modules\n');
  const git = (...words: string[]) =>
    execFileSync('git', ['-c', 'user.name=t', '-c', 'user.email=t@example.org', ...words], { cwd: tree });
  git('init', '--quiet');
  git('add', '.');
  git('commit', '--quiet', '--message=first');
}

/** Starts a program of Node.js that goes on until it is stopped. */
function watch(tree: string, words: readonly string[], more: NodeJS.ProcessEnv = {}) {
  let said = '';
  const child: ChildProcess = spawn(process.execPath, words, {
    cwd: tree,
    env: { ...process.env, VITEST: undefined, CI: undefined, NO_COLOR: '1', ...more },
    stdio: ['pipe', 'pipe', 'pipe'],
  });
  const ended = new Promise((resolve) => child.once('exit', resolve));
  for (const stream of [child.stdout, child.stderr])
    stream?.on('data', (chunk: Buffer) => {
      said += chunk.toString();
    });
  return {
    said: () => said,
    stop: async () => {
      child.kill('SIGKILL');
      await ended;
    },
  };
}
