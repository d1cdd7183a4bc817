import { join, resolve } from 'node:path';
import type { StoreSettings } from '../engine/openStore.js';

/**
 * PostgreSQL where DATABASE_URL names a server, else a SQLite file in the data folder. What is kept before an upgrade
 * stands where the daily backups do.
 */
export function storeSettings(environment: NodeJS.ProcessEnv, dataFolder: string): StoreSettings {
  const url = environment.DATABASE_URL;
  const backups = resolve(environment.STILLCOUNT_BACKUPS || join(dataFolder, 'backups'));
  return url === undefined || url === ''
    ? { kind: 'sqlite', file: join(dataFolder, 'clinic.db'), backups }
    : { kind: 'postgres', url, backups };
}
