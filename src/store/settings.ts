import { join, resolve } from 'node:path';
import type { StoreSettings } from './openStore.js';

/** PostgreSQL where DATABASE_URL names a server, else a SQLite file in the data folder. */
export function storeSettings(environment: NodeJS.ProcessEnv, dataFolder: string): StoreSettings {
  const url = environment.DATABASE_URL;
  return url === undefined || url === ''
    ? { kind: 'sqlite', file: join(dataFolder, 'clinic.db') }
    : { kind: 'postgres', url, backups: resolve(dataFolder, 'backups') };
}
