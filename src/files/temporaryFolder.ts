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
 * Gives `use` a fresh folder that is removed afterwards, also when the process exits half-way: what lies in it may
 * hold a patient's session.
 *
 * @param purpose a word for the folder's name.
 * @throws StillcountError kind `work` when there is no room for temporary files; whatever `use` throws.
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
