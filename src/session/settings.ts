import { join, resolve } from 'node:path';
import { readAllSettings } from '../settings/readSettings.js';

/** Folders, each as an absolute path. */
export type Settings = { dataFolder: string; templatesFolder: string };
/** The folders of the service, which also needs one for its daily backups. */
export type ServiceFolders = Settings & { backupFolder: string };

/**
 * Reads the folders from the environment.
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
