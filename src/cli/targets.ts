import { lstat } from 'node:fs/promises';
import { resolve } from 'node:path';
import { inputError } from '../errors/stillcountError.js';

/** The option that every command that writes files declares. */
export const forceOption = ['--force', 'replace what exists'] as const;

/**
 * Keeps a command from overwriting a file that someone may still need.
 *
 * @param paths the files about to be written
 * @throws StillcountError kind `input` naming every file that already exists, unless they may be replaced
 */
export async function refuseExisting(paths: readonly string[], mayReplace: boolean): Promise<void> {
  if (mayReplace) return;
  const found = await Promise.all(
    paths.map((path) =>
      lstat(path).then(
        () => [path],
        () => [],
      ),
    ),
  );
  const existing = found.flat();
  if (existing.length === 0) return;
  throw inputError(
    existing.map((path, index) => ({
      file: resolve(path),
      message: 'this already exists and was not changed',
      ...(index < existing.length - 1 ? {} : { hint: 'choose another path, or add --force to replace it' }),
    })),
  );
}
