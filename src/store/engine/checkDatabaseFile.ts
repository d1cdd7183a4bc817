import { fork } from 'node:child_process';
import { createRequire } from 'node:module';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { z } from 'zod';
import { workError } from '../../errors/stillcountError.js';

const resultSchema = z.strictObject({ found: z.string().nullable() });

/**
 * Checks a SQLite file like `damageIn`, in a separate process: a file of a gigabyte takes most of a minute, during
 * which the service would not respond.
 *
 * @param signal stops it
 * @returns null if all is well
 * @throws StillcountError kind `work` if it could not be checked to the end
 */
export function checkDatabaseFile(file: string, signal: AbortSignal): Promise<string | null> {
  return new Promise((resolve, reject) => {
    const child = fork(entry.path, [file], {
      ...{ execArgv: entry.execArgv, signal, killSignal: 'SIGKILL' },
      stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
    });
    const brokenOff = (cause?: unknown) =>
      reject(workError({ message: 'the database file was not checked to the end', file }, cause));
    child.once('message', (message) => {
      const result = resultSchema.safeParse(message);
      if (result.success) resolve(result.data.found);
      else brokenOff(result.error);
    });
    child.once('error', brokenOff);
    child.once('exit', () => brokenOff());
  });
}

/** Beside this file: TypeScript while developing, JavaScript once compiled. */
const entry = import.meta.url.endsWith('.ts')
  ? {
      path: fileURLToPath(new URL('./lookThroughProcess.ts', import.meta.url)),
      execArgv: ['--import', pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href],
    }
  : { path: fileURLToPath(new URL('./lookThroughProcess.js', import.meta.url)), execArgv: [] };
