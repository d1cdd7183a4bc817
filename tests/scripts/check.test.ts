import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { cp, mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
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
    await write({ 'src/audio/mix.ts': 'export const mix = 22;\n', 'src/audio/new.ts': '\n' });
    await rm(path.join(root, 'src/signal/level.ts'));
    expect(changedBetween(before, await readStamps(root))).toEqual([
      'src/audio/mix.ts',
      'src/audio/new.ts',
      'src/signal/level.ts',
    ]);
    expect(changedBetween(before, before)).toEqual([]);
  });
});

describe('tests that start what is compiled', () => {
  it('start the newest source when they run again', async () => {
    const tree = await mkdtemp(path.join(project, 'output/watched-'));
    const watching = watchTests(tree);
    try {
      await plantWatched(tree, 'first');
      const heard = watching.start();
      await expect.poll(heard).toContain('the build says first');
      await plantWatched(tree, 'second');
      await expect.poll(heard).toContain('the build says second');
    } finally {
      await watching.stop();
      await rm(tree, { recursive: true, force: true });
    }
  });
});

/** A small project with the compiling of this one, whose only test imports a source and starts the build of it. */
async function plantWatched(tree: string, word: string): Promise<void> {
  const copied = [
    'scripts/build',
    'src/browser',
    'src/http/assets',
    'src/listening',
    'src/time',
    'tests/compile.ts',
  ];
  const isNew = word === 'first';
  if (isNew) {
    for (const name of [...copied, 'package.json', 'tsconfig.json'])
      await cp(path.join(project, name), path.join(tree, name), { recursive: true });
    await symlink(path.join(project, 'node_modules'), path.join(tree, 'node_modules'));
    await writeFile(
      path.join(tree, 'vitest.config.ts'),
      "export default { test: { projects: [{ test: { name: 'rooms', globalSetup: ['tests/compile.ts'], include: ['tests/**/*.test.ts'] } }] } };\n",
    );
    await writeFile(
      path.join(tree, 'tests/word.test.ts'),
      `import { execFileSync } from 'node:child_process';
import { expect, it } from 'vitest';
import { word } from '../src/word.js';
it('is built', () => {
  const built = execFileSync(process.execPath, ['-e', "import('./dist/word.js').then((m) => console.log(m.word))"]);
  console.log('the build says ' + built);
  expect(String(built).trim()).toBe(word);
});
`,
    );
  }
  await writeFile(path.join(tree, 'src/word.ts'), `export const word = '${word}';\n`);
}

function watchTests(tree: string) {
  let child: ChildProcess | undefined;
  let said = '';
  return {
    start: () => {
      const vitest = path.join(project, 'node_modules/vitest/vitest.mjs');
      child = spawn(process.execPath, [vitest, '--watch', '--root', tree], {
        cwd: tree,
        env: { ...process.env, VITEST: undefined, CI: undefined, NO_COLOR: '1' },
        stdio: ['pipe', 'pipe', 'pipe'],
      });
      for (const stream of [child.stdout, child.stderr])
        stream?.on('data', (chunk: Buffer) => {
          said += chunk.toString();
        });
      return () => said;
    },
    stop: async () => {
      if (child === undefined || child.exitCode !== null) return;
      const ended = new Promise((resolve) => child?.once('exit', resolve));
      child.kill('SIGKILL');
      await ended;
    },
  };
}
