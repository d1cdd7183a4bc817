import { readFileSync } from 'node:fs';
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { isEncoderFault } from '../../src/ffmpeg/encoderFault.js';
import { findFfmpeg } from '../../src/ffmpeg/findFfmpeg.js';
import { type FfmpegRun, runFfmpeg } from '../../src/ffmpeg/runFfmpeg.js';
import { temporaryFolder } from '../leftBehind.js';
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

  it('is quoted with its name, its last lines and the setting that chooses it', async () => {
    const path = await fakeFfmpeg('cat >/dev/null; echo one >&2; echo two >&2; echo three >&2; exit 3');
    vi.stubEnv('STILLCOUNT_FFMPEG', path);
    expect((await failureOf(runFfmpeg(twoSeconds))).problems).toEqual([
      {
        message: `the encoder ${path} ended with exit code 3`,
        found: 'it said: one / two / three',
        hint: 'try again; if this keeps happening, install another ffmpeg or name one in STILLCOUNT_FFMPEG',
      },
    ]);
  });

  it('has failed when it ends otherwise than well after all that it should write', async () => {
    vi.stubEnv('STILLCOUNT_FFMPEG', await fakeFfmpeg('"$REAL" "$@"; exit 1'));
    expect((await failureOf(runFfmpeg(twoSeconds))).message).toContain('exit code 1');
  });

  it('has not failed when it closes its output and ends some time after it', async () => {
    vi.stubEnv('STILLCOUNT_FFMPEG', await fakeFfmpeg('"$REAL" "$@"; exec >&- 2>&-; sleep 0.06; exit 0'));
    expect((await runFfmpeg(twoSeconds)).length).toBe(2 * 48_000 * 2);
  });
});

/** A second is long enough for what does answer, also on a machine that is busy with other tests. */
const soon = { firstAnswerMs: 1_000, againAfterMs: 1_000, silentMs: 1_000, wholeMs: 2_000 };

describe.skipIf(process.platform === 'win32')('an ffmpeg that hangs (needs a POSIX shell)', () => {
  const pidFile = () => join(temporaryFolder('pid'), 'pid');
  /** Goes on for ever in a child of its own, which holds what it writes to open. */
  const hanging = (file: string) => `sleep 1000 & echo $! > '${file}'; wait`;
  const isGone = async (file: string) => {
    const pid = Number(await readFile(file, 'utf8'));
    // Killed, and perhaps not yet taken leave of.
    await expect.poll(() => isRunning(pid), { timeout: 20_000 }).toBe(false);
  };

  it('at its first question is ended with all that it started, named, and asked again only later', async () => {
    const file = pidFile();
    const path = await fakeFfmpeg('exit 1', hanging(file));
    vi.stubEnv('STILLCOUNT_FFMPEG', path);
    const [first, second] = await Promise.all([failureOf(findFfmpeg(soon)), failureOf(findFfmpeg(soon))]);
    const askedAgainAt = performance.now();
    expect([first, first]).toEqual([second, await failureOf(findFfmpeg(soon))]);
    expect(performance.now() - askedAgainAt, 'told at once').toBeLessThan(soon.firstAnswerMs / 2);
    expect(first.message).toContain(
      `the encoder ${path} cannot be used: asked for its version it did not answer within 1 s`,
    );
    expect(isEncoderFault(first, 'silent')).toBe(true);
    await isGone(file);
    await writeFile(path, '#!/bin/sh\nexec true\n');
    await expect
      .poll(async () => (await failureOf(findFfmpeg(soon))).message, { timeout: 20_000 })
      .toContain('another program');
  });

  it.each([
    ['takes nothing and gives nothing', ''],
    ['takes everything and gives nothing', 'cat >/dev/null;'],
    ['gives everything and does not end', '"$REAL" "$@"; exec >&- 2>&-;'],
  ])('%s: it is ended with all that it started', async (_name, before) => {
    const file = pidFile();
    vi.stubEnv('STILLCOUNT_FFMPEG', await fakeFfmpeg(`${before} ${hanging(file)}`));
    await findFfmpeg();
    const input = Buffer.alloc(1_000_000);
    const error = await failureOf(runFfmpeg({ ...twoSeconds, input, times: soon }));
    expect(error.message).toContain('did not answer within 1 s and was ended');
    expect(isEncoderFault(error, 'silent')).toBe(true);
    await isGone(file);
  });

  it('is ended in the end, however often it shows a sign of life', async () => {
    vi.stubEnv('STILLCOUNT_FFMPEG', await fakeFfmpeg('while :; do echo 1; sleep 0.1; done'));
    await findFfmpeg();
    const error = await failureOf(runFfmpeg({ ...twoSeconds, times: soon }));
    expect(error.message).toContain('did not answer');
  });

  it('is not blamed while it waits for what it is fed with', async () => {
    await findFfmpeg();
    async function* slowly() {
      yield Buffer.alloc(1_000);
      await new Promise((resolve) => setTimeout(resolve, 2 * soon.silentMs));
      yield Buffer.alloc(1_000);
    }
    const output = await runFfmpeg({ ...twoSeconds, input: Readable.from(slowly()), times: soon });
    expect(output.length).toBe(2 * 2_000);
  });
});

/** A process that was killed but not yet reaped by its new parent no longer runs. */
function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return process.platform !== 'linux' || !/^State:\s+Z/m.test(readFileSync(`/proc/${pid}/status`, 'utf8'));
  } catch {
    return false;
  }
}

describe('the input of an encoder', () => {
  it('that fails is what is told, and the encoder is ended', async () => {
    async function* failing() {
      yield Buffer.alloc(1_000);
      throw new RangeError('no more');
    }
    await expect(runFfmpeg({ ...twoSeconds, input: Readable.from(failing()) })).rejects.toThrow('no more');
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
      message: 'the encoder /nowhere/ffmpeg cannot be used: it is not there',
    });
    vi.unstubAllEnvs();
    expect((await runFfmpeg(twoSeconds)).length).toBe(2 * 48_000 * 2);
  });

  it('refuses a program that is not ffmpeg', async () => {
    vi.stubEnv('STILLCOUNT_FFMPEG', process.execPath);
    expect((await failureOf(findFfmpeg())).message).toContain('it ended with exit code 9');
  });

  it('refuses a file that may not be run', async () => {
    const path = join(temporaryFolder('other'), 'ffmpeg');
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
