import { createHash } from 'node:crypto';
import { chmod } from 'node:fs/promises';
import { workError } from '../errors/stillcountError.js';
import { runInGroup } from '../programs/runInGroup.js';
import { EncoderFault, isEncoderFault } from './encoderFault.js';
import { encoderMessage, encoderSetting, faultInWords } from './encoderProblem.js';
import { type EncoderTimes, usualEncoderTimes } from './encoderTimes.js';

/** An ffmpeg that has been started once and can encode MP3. */
export type FfmpegProgram = {
  /** A file path, or `ffmpeg` when the one on the search path is used. */
  path: string;
  /** Changes with the version or the build, because the same samples may then encode to different bytes. */
  identity: string;
};

let found: { wanted: string | undefined; program: Promise<FfmpegProgram> } | undefined;

/**
 * Finds the ffmpeg to use: the one named by the environment variable STILLCOUNT_FFMPEG, else the system's if it can
 * encode MP3, else the one from the package registry. The result is remembered.
 *
 * @param times how long to wait for it, if it has not been found before
 * @throws StillcountError kind `work` when there is none, or when the named one does not run or does not answer
 */
export function findFfmpeg(times: EncoderTimes = usualEncoderTimes): Promise<FfmpegProgram> {
  const wanted = process.env[encoderSetting];
  if (found === undefined || found.wanted !== wanted) {
    const program = wanted === undefined || wanted === '' ? findAny(times) : findNamed(wanted, times);
    found = { wanted, program };
    program.catch((error: unknown) => {
      const forget = () => {
        if (found?.program === program) found = undefined;
      };
      // Callers in the meantime get the same error at once, instead of waiting for it again.
      if (isEncoderFault(error, 'silent')) setTimeout(forget, times.againAfterMs).unref();
      else forget();
    });
  }
  return found.program;
}

async function findNamed(path: string, times: EncoderTimes): Promise<FfmpegProgram> {
  const tried = await tryProgram(path, times);
  if ('program' in tried) return tried.program;
  throw workError(
    {
      message: `the encoder ${path} cannot be used: ${tried.why}`,
      path: encoderSetting,
      ...(tried.found === undefined ? {} : { found: tried.found }),
      allowed: 'an ffmpeg program that can encode MP3 with libmp3lame',
      hint: `name another one, or unset ${encoderSetting} to use the one that came with the installation`,
    },
    new EncoderFault(tried.isSilent ? 'silent' : 'unusable'),
  );
}

async function findAny(times: EncoderTimes): Promise<FfmpegProgram> {
  const system = await tryProgram('ffmpeg', times);
  if ('program' in system) return system.program;
  const path = await installedFfmpegPath();
  const installed =
    path === undefined ? { why: 'none for this machine', isSilent: false } : await tryInstalled(path, times);
  if ('program' in installed) return installed.program;
  throw workError(
    {
      message: 'no encoder was found',
      found: `ffmpeg on the search path: ${system.why}; from the package registry: ${installed.why}`,
      allowed: 'an ffmpeg program that can encode MP3 with libmp3lame',
      hint: `install ffmpeg, or name one in the environment variable ${encoderSetting}`,
    },
    new EncoderFault(system.isSilent || installed.isSilent ? 'silent' : 'unusable'),
  );
}

/**
 * Tries the installed program. Some platform packages are unpacked without permission to execute, which this fixes
 * once.
 */
async function tryInstalled(path: string, times: EncoderTimes): Promise<Tried> {
  const first = await tryProgram(path, times);
  if ('program' in first || first.why !== notAllowed) return first;
  await chmod(path, 0o755).catch(() => undefined);
  return tryProgram(path, times);
}

type Tried = { program: FfmpegProgram } | { why: string; found?: string | undefined; isSilent: boolean };

const notAllowed = 'there is no permission to run it';
const mostVersionBytes = 1 << 20;

/** Tries a candidate by actually starting it. */
async function tryProgram(path: string, { firstAnswerMs }: EncoderTimes): Promise<Tried> {
  const outcome = await runInGroup({
    ...{ path, args: ['-version'], input: [] },
    ...{ silentMs: firstAnswerMs, wholeMs: firstAnswerMs, mostOutputBytes: mostVersionBytes },
  });
  if (outcome.kind === 'not-started' && outcome.code === 'ENOENT')
    return { why: 'it is not there', isSilent: false };
  if (outcome.kind === 'not-started' && outcome.code === 'EACCES')
    return { why: notAllowed, isSilent: false };
  if (outcome.kind !== 'done') {
    const why = `asked for its version it ${faultInWords(outcome, firstAnswerMs)}`;
    return { why, found: encoderMessage(outcome), isSilent: outcome.kind === 'no-answer' };
  }
  const version = outcome.output.toString('utf8');
  if (!version.startsWith('ffmpeg version')) return { why: 'it is another program', isSilent: false };
  if (!version.includes('--enable-libmp3lame'))
    return { why: 'it was built without libmp3lame', isSilent: false };
  return { program: { path, identity: createHash('sha256').update(version).digest('hex') } };
}

/** Returns undefined where the package has no program for this platform; importing it then throws. */
async function installedFfmpegPath(): Promise<string | undefined> {
  try {
    return (await import('@ffmpeg-installer/ffmpeg')).default.path;
  } catch {
    return undefined;
  }
}
