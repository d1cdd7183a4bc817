import { join, resolve } from 'node:path';
import type { StoreSettings } from '../engine/openStore.js';

/**
 * PostgreSQL if DATABASE_URL names a server, else a SQLite file in the data folder. Copies made before an upgrade are
 * kept with the daily backups.
 */
export function storeSettings(environment: NodeJS.ProcessEnv, dataFolder: string): StoreSettings {
  const url = environment.DATABASE_URL;
  const backups = resolve(environment.STILLCOUNT_BACKUPS || join(dataFolder, 'backups'));
  return url === undefined || url === ''
    ? { kind: 'sqlite', file: join(dataFolder, 'clinic.db'), backups }
    : { kind: 'postgres', url, backups };
}
