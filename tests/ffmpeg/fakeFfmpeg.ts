import { chmod, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { findFfmpeg } from '../../src/ffmpeg/findFfmpeg.js';
import { temporaryFolder } from '../leftBehind.js';

/**
 * A program that answers every question about itself like the real ffmpeg, and runs `script` (POSIX shell, the
 * real program's name is in $REAL) when it is given work.
 *
 * @param answer runs instead when it is asked about itself
 */
export async function fakeFfmpeg(script: string, answer = 'exec "$REAL" "$@"'): Promise<string> {
  const real = (await findFfmpeg()).path;
  const path = join(temporaryFolder('fake'), 'ffmpeg');
  await writeFile(
    path,
    `#!/bin/sh
REAL='${real}'
case "$1" in
  -version) ${answer}; exit ;;
esac
${script}
`,
  );
  await chmod(path, 0o755);
  return path;
}
