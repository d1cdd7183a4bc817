import { spawnSync } from 'node:child_process';
import { chmod, mkdir, mkdtemp, open, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { cannotWrite } from '../../src/files/fileProblem.js';
import { writeWhole } from '../../src/files/wholeFile.js';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-whole-'));
});
afterEach(async () => {
  await rm(folder, { recursive: true, force: true });
});

async function* pieces(...texts: string[]): AsyncGenerator<Uint8Array> {
  for (const text of texts) yield Buffer.from(text);
}

async function failureOf(work: Promise<unknown>): Promise<unknown> {
  return work.then(
    () => expect.unreachable('this should have failed'),
    (error: unknown) => error,
  );
}

describe('writing a whole file', () => {
  it('writes bytes, text and pieces, makes folders and leaves nothing beside the file', async () => {
    const path = join(folder, 'a', 'b', 'session.txt');
    await writeWhole(path, Buffer.from('one'));
    expect(await readFile(path, 'utf8')).toBe('one');
    await writeWhole(path, 'two');
    expect(await readFile(path, 'utf8')).toBe('two');
    await writeWhole(path, pieces('th', 'ree'));
    expect(await readFile(path, 'utf8')).toBe('three');
    await writeWhole(path, [Buffer.from('fo'), Buffer.from('ur')]);
    expect(await readFile(path, 'utf8')).toBe('four');
    expect(await readdir(join(folder, 'a', 'b'))).toEqual(['session.txt']);
  });

  it('leaves the earlier file and no partial one when the content fails half-way', async () => {
    const path = join(folder, 'session.mp3');
    await writeWhole(path, 'earlier');
    async function* failing(): AsyncGenerator<Uint8Array> {
      yield Buffer.alloc(100_000, 1);
      throw new Error('the voice stopped');
    }
    const error = await failureOf(writeWhole(path, failing()));
    expect(error).toMatchObject({ message: 'the voice stopped' });
    expect(await readFile(path, 'utf8')).toBe('earlier');
    expect(await readdir(folder)).toEqual(['session.mp3']);
  });

  it('stops on an abort signal and leaves the earlier file', async () => {
    const path = join(folder, 'session.mp3');
    await writeWhole(path, 'earlier');
    const stop = new AbortController();
    async function* stopping(): AsyncGenerator<Uint8Array> {
      yield Buffer.from('new');
      stop.abort();
      yield Buffer.from('never');
    }
    await failureOf(writeWhole(path, stopping(), { signal: stop.signal }));
    expect(await readFile(path, 'utf8')).toBe('earlier');
    expect(await readdir(folder)).toEqual(['session.mp3']);
  });

  it('removes the partial file when the process exits in the middle', async () => {
    const path = join(folder, 'session.mp3');
    await writeFile(path, 'earlier');
    const program = `
      import { writeWhole } from ${JSON.stringify(pathToFileURL('src/files/wholeFile.ts').href)};
      async function* leaving() { yield Buffer.from('new'); process.exit(3); }
      void writeWhole(${JSON.stringify(path)}, leaving());`;
    const script = join(folder, 'leave.ts');
    await writeFile(script, program);
    const run = spawnSync(process.execPath, ['--import', 'tsx', script], { encoding: 'utf8' });
    expect(run.status, run.stderr).toBe(3);
    expect((await readdir(folder)).sort()).toEqual(['leave.ts', 'session.mp3']);
    expect(await readFile(path, 'utf8')).toBe('earlier');
  });

  it('names the path and says when a part of it is a file', async () => {
    await writeFile(join(folder, 'output'), 'a file');
    const path = join(folder, 'output', 'session.mp3');
    const error = await failureOf(writeWhole(path, 'x'));
    expect(error).toBeInstanceOf(StillcountError);
    expect(error).toMatchObject({ kind: 'work', problems: [{ file: path }] });
    expect(String(error)).toContain('a part of the path is a file, not a folder');
  });

  it('says when a folder has the name of the file, and leaves the folder', async () => {
    const path = join(folder, 'session.mp3');
    await mkdir(path);
    const error = await failureOf(writeWhole(path, 'x'));
    expect(error).toMatchObject({ kind: 'work' });
    expect(String(error)).toContain('a folder of that name is in the way');
    expect(await readdir(folder)).toEqual(['session.mp3']);
  });

  it.skipIf(process.platform === 'win32' || process.getuid?.() === 0)(
    'says when there is no permission (skipped for root, whom nothing is forbidden, and on Windows)',
    async () => {
      await chmod(folder, 0o500);
      const error = await failureOf(writeWhole(join(folder, 'x'), 'x'));
      await chmod(folder, 0o700);
      expect(String(error)).toContain('no permission');
    },
  );

  it.skipIf(process.platform !== 'linux')(
    'says when the disk is full (the device that is always full is found on Linux only)',
    async () => {
      const full = await open('/dev/full', 'w');
      const cause = await failureOf(full.writeFile('x'));
      await full.close();
      const error = cannotWrite('/out/session.mp3', cause);
      expect(error.kind).toBe('work');
      expect(error.message).toBe('/out/session.mp3: This file could not be written: the disk is full.');

      const path = join(folder, 'session.mp3');
      await writeWhole(path, 'earlier');
      async function* fullHalfWay(): AsyncGenerator<Uint8Array> {
        yield Buffer.from('new');
        throw cause;
      }
      expect(String(await failureOf(writeWhole(path, fullHalfWay())))).toContain('the disk is full');
      expect(await readFile(path, 'utf8')).toBe('earlier');
      expect(await readdir(folder)).toEqual(['session.mp3']);
    },
  );
});
