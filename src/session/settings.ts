import { join, resolve } from 'node:path';
import { readAllSettings } from '../settings/readSettings.js';

/** Folders, each as a whole path. */
export type Settings = { dataFolder: string; templatesFolder: string };
/** What the service needs beside them: where its daily backups are kept. */
export type ServiceFolders = Settings & { backupFolder: string };

/**
 * Reads from the environment where things are kept.
 *
 * @throws StillcountError kind `input` naming each variable that cannot be used
 */
export function readSettings(environment: NodeJS.ProcessEnv): ServiceFolders {
  const { STILLCOUNT_DATA, STILLCOUNT_TEMPLATES, STILLCOUNT_BACKUPS } = readAllSettings(environment);
  const dataFolder = resolve(STILLCOUNT_DATA);
  return {
    dataFolder,
    templatesFolder: resolve(STILLCOUNT_TEMPLATES),
    backupFolder: resolve(STILLCOUNT_BACKUPS ?? join(dataFolder, 'backups')),
  };
}
