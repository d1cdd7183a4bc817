import { mkdtemp, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { findFfmpeg } from '../../src/ffmpeg/findFfmpeg.js';
import { type FfmpegRun, runFfmpeg } from '../../src/ffmpeg/runFfmpeg.js';
import { fakeFfmpeg } from './fakeFfmpeg.js';

afterEach(() => vi.unstubAllEnvs());

const twoSeconds: FfmpegRun = {
  input: Buffer.alloc(2 * 24_000 * 2),
  inputOptions: ['-f', 's16le', '-ar', '24000', '-ac', '1'],
  outputOptions: ['-f', 's16le', '-ar', '48000'],
};

async function failureOf(work: Promise<unknown>): Promise<StillcountError> {
  const error = await work.then(
    () => undefined,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(StillcountError);
  return error as StillcountError;
}

describe('runFfmpeg', () => {
  it('gives all that ffmpeg wrote: twice the rate is twice the bytes', async () => {
    expect((await runFfmpeg(twoSeconds)).length).toBe(2 * 48_000 * 2);
  });

  it('applies filters in order', async () => {
    const input = Buffer.from(Int16Array.from({ length: 24_000 }, () => 8000).buffer);
    const output = await runFfmpeg({
      input,
      inputOptions: twoSeconds.inputOptions,
      outputOptions: ['-f', 's16le'],
      filters: ['volume=0.5', 'atrim=end_sample=100'],
    });
    expect(output.length).toBe(200);
    expect(output.readInt16LE(0)).toBe(4000);
  });

  it('says what ffmpeg said when it refuses the options', async () => {
    const error = await failureOf(
      runFfmpeg({ ...twoSeconds, outputOptions: ['-f', 's16le', '-ar', 'fast'] }),
    );
    expect(error.kind).toBe('work');
    expect(error.message).toContain('fast');
  });

  it('reports input that is no sound', async () => {
    const error = await failureOf(
      runFfmpeg({
        input: Buffer.from('not a sound'),
        inputOptions: ['-f', 'wav'],
        outputOptions: ['-f', 's16le'],
      }),
    );
    expect(error.message).toContain('Invalid data');
  });
});

describe.skipIf(process.platform === 'win32')('an ffmpeg that fails (needs a POSIX shell)', () => {
  it.each([
    ['is killed half-way', 'head -c 1000 >/dev/null; head -c 5000 /dev/zero; kill -9 $$', 'SIGKILL'],
    [
      'exits half-way with a message',
      'head -c 5000 /dev/zero; echo "No space left" >&2; exit 3',
      'No space left',
    ],
  ])('%s: a clear error, no half result', async (_name, script, said) => {
    vi.stubEnv('STILLCOUNT_FFMPEG', await fakeFfmpeg(script));
    const error = await failureOf(runFfmpeg({ ...twoSeconds, input: Buffer.alloc(8_000_000) }));
    expect(error.kind).toBe('work');
    expect(error.message).toContain(said);
  });
});

describe('findFfmpeg', () => {
  it('finds one that encodes MP3 and remembers it', async () => {
    const first = findFfmpeg();
    expect(findFfmpeg()).toBe(first);
    expect((await first).identity).toMatch(/^[0-9a-f]{64}$/);
  });

  it('names the program that is missing, and looks again once that is mended', async () => {
    vi.stubEnv('STILLCOUNT_FFMPEG', '/nowhere/ffmpeg');
    const error = await failureOf(runFfmpeg(twoSeconds));
    expect(error.problems[0]).toMatchObject({
      path: 'STILLCOUNT_FFMPEG',
      found: '/nowhere/ffmpeg (not there)',
    });
    vi.unstubAllEnvs();
    expect((await runFfmpeg(twoSeconds)).length).toBe(2 * 48_000 * 2);
  });

  it('refuses a program that is not ffmpeg', async () => {
    vi.stubEnv('STILLCOUNT_FFMPEG', process.execPath);
    expect((await failureOf(findFfmpeg())).message).toMatch(/does not run|another program/);
  });

  it('refuses a file that may not be run', async () => {
    const path = join(await mkdtemp(join(tmpdir(), 'stillcount-')), 'ffmpeg');
    await writeFile(path, '#!/bin/sh\n', { mode: 0o644 });
    vi.stubEnv('STILLCOUNT_FFMPEG', path);
    expect((await failureOf(findFfmpeg())).kind).toBe('work');
  });

  it('uses the one from the package registry when the search path has none', async () => {
    vi.stubEnv('PATH', '/nowhere');
    vi.stubEnv('STILLCOUNT_FFMPEG', '');
    expect((await findFfmpeg()).path).toMatch(/ffmpeg-installer/);
  });
});
