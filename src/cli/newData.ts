import { createInterface } from 'node:readline/promises';
import { inputError } from '../errors/stillcountError.js';
import { readSettings } from '../session/settings.js';
import { storeSettings } from '../store/service/settings.js';
import type { UsedData } from '../store/service/usedData.js';

/**
 * Keeps a service from creating a second, empty clinic by mistake, for example after a mistyped folder or a start from
 * another directory: on a terminal it asks, elsewhere it refuses.
 *
 * @throws StillcountError kind `input` naming both folders, and how to choose between them
 */
export async function confirmNewData(environment: NodeJS.ProcessEnv): Promise<void> {
  const { dataFolder, backupFolder } = readSettings(environment);
  if (storeSettings(environment, dataFolder).kind !== 'sqlite') return;
  // Loaded here, so that commands that create no clinic start without the database code.
  const { findUsedData } = await import('../store/service/usedData.js');
  const used = await findUsedData({ dataFolder, backupFolder, workingFolder: process.cwd() });
  if (used === null) return;
  const isTerminal = process.stdin.isTTY === true && process.stdout.isTTY === true;
  if (isTerminal && (await isMeant(dataFolder, used))) return;
  throw inputError({
    file: 'environment',
    path: 'STILLCOUNT_DATA',
    message:
      used.kind === 'folder'
        ? 'this folder has no clinic, but another one does'
        : 'this folder has no clinic, but there are daily backups of one',
    found: `no clinic in ${dataFolder}, but ${whatIsUsed(used)}`,
    hint:
      used.kind === 'folder'
        ? `to use the existing clinic, set STILLCOUNT_DATA=${used.path}; to start a new one, add --new-data`
        : 'if its disk is missing, mount it first; to restore a backup, run "stillcount restore FILE"; to start a new clinic, add --new-data',
  });
}

function whatIsUsed({ kind, path }: UsedData): string {
  return kind === 'folder' ? `one in ${path}` : `backups in ${path}`;
}

/** If the question ends without an answer, the answer is no. */
async function isMeant(dataFolder: string, used: UsedData): Promise<boolean> {
  const terminal = createInterface({ input: process.stdin, output: process.stdout });
  const closed = new Promise<string>((settle) => terminal.once('close', () => settle('')));
  const question = `There is no clinic in ${dataFolder}, but ${whatIsUsed(used)}.\nStart a new, empty clinic in ${dataFolder}? (y/N) `;
  try {
    const answer = await Promise.race([terminal.question(question), closed]);
    return /^y(es)?$/i.test(answer.trim());
  } finally {
    terminal.close();
  }
}
