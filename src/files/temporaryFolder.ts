import { rmSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { cannotWrite } from './fileProblem.js';

const inUse = new Set<string>();
process.on('exit', () => {
  for (const folder of inUse) rmSync(folder, { recursive: true, force: true });
});

/**
 * Passes `use` a new folder that is removed afterward, even if the process exits before that, because it may contain a
 * patient's session.
 *
 * @param purpose a word for the folder's name
 * @throws StillcountError kind `work` when a temporary folder cannot be made; also anything that `use` throws
 */
export async function inTemporaryFolder<Result>(
  purpose: string,
  use: (folder: string) => Promise<Result>,
): Promise<Result> {
  const folder = await mkdtemp(join(tmpdir(), `stillcount-${purpose}-`)).catch((error: unknown) => {
    throw cannotWrite(tmpdir(), error);
  });
  inUse.add(folder);
  try {
    return await use(folder);
  } finally {
    await rm(folder, { recursive: true, force: true });
    inUse.delete(folder);
  }
}
