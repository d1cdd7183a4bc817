import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { chmod } from 'node:fs/promises';
import { promisify } from 'node:util';
import { workError } from '../errors/stillcountError.js';

const execute = promisify(execFile);
const environmentName = 'STILLCOUNT_FFMPEG';

/** An ffmpeg that was started once and can encode MP3. */
export type FfmpegProgram = {
  /** A file path, or `ffmpeg` when the one on the search path is used. */
  path: string;
  /** Changes with the version or the build: what the same samples encode to may then differ. */
  identity: string;
};

let found: { wanted: string | undefined; program: Promise<FfmpegProgram> } | undefined;

/**
 * The ffmpeg to use: the one named by the environment variable STILLCOUNT_FFMPEG; else the system's, when it
 * can encode MP3; else the one from the package registry. Looked for once and remembered.
 *
 * Each candidate is really started here, because fluent-ffmpeg ends the whole process when its program is missing.
 *
 * @throws StillcountError kind `work` when there is none, or when the named one does not run.
 */
export function findFfmpeg(): Promise<FfmpegProgram> {
  const wanted = process.env[environmentName];
  if (found === undefined || found.wanted !== wanted) {
    const program = wanted === undefined || wanted === '' ? findAny() : findNamed(wanted);
    found = { wanted, program };
    program.catch(() => {
      found = undefined;
    });
  }
  return found.program;
}

async function findNamed(path: string): Promise<FfmpegProgram> {
  const tried = await tryProgram(path);
  if (tried.program !== undefined) return tried.program;
  throw workError({
    message: 'the ffmpeg program named for this session cannot be used',
    path: environmentName,
    found: `${path} (${tried.why})`,
    allowed: 'an ffmpeg program that can encode MP3 with libmp3lame',
    hint: `unset ${environmentName} to use the one that came with the installation`,
  });
}

async function findAny(): Promise<FfmpegProgram> {
  const system = await tryProgram('ffmpeg');
  if (system.program !== undefined) return system.program;
  const installedPath = await installedFfmpegPath();
  const installed =
    installedPath === undefined ? { why: 'none for this machine' } : await tryInstalled(installedPath);
  if ('program' in installed && installed.program !== undefined) return installed.program;
  throw workError({
    message: 'no ffmpeg program was found to make the sound file with',
    found: `on the search path: ${system.why}; from the package registry: ${installed.why}`,
    allowed: 'an ffmpeg program that can encode MP3 with libmp3lame',
    hint: `install ffmpeg, or name one in the environment variable ${environmentName}`,
  });
}

/** Some platform packages are unpacked without the right to execute; that is mended once. */
async function tryInstalled(path: string): Promise<Tried> {
  const first = await tryProgram(path);
  if (first.program !== undefined || first.why !== 'not allowed to run it') return first;
  await chmod(path, 0o755).catch(() => undefined);
  return tryProgram(path);
}

type Tried = { program?: FfmpegProgram; why: string };

async function tryProgram(path: string): Promise<Tried> {
  let version: string;
  try {
    version = (await execute(path, ['-version'], { timeout: 20_000, windowsHide: true })).stdout;
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'ENOENT') return { why: 'not there' };
    if (code === 'EACCES') return { why: 'not allowed to run it' };
    return { why: 'it does not run' };
  }
  if (!version.startsWith('ffmpeg version')) return { why: 'it is another program' };
  if (!version.includes('--enable-libmp3lame')) return { why: 'it was built without libmp3lame' };
  return { program: { path, identity: createHash('sha256').update(version).digest('hex') }, why: '' };
}

/** Undefined where the package has no program for this platform; it then throws while it is imported. */
async function installedFfmpegPath(): Promise<string | undefined> {
  try {
    return (await import('@ffmpeg-installer/ffmpeg')).default.path;
  } catch {
    return undefined;
  }
}
