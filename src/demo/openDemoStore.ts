import { rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { hasClinic } from '../store/accounts/clinicians.js';
import { openStore, type Store } from '../store/engine/openStore.js';

/** Where the demo stores its clinic. */
export function demoDatabase(dataFolder: string): { kind: 'sqlite'; file: string } {
  return { kind: 'sqlite', file: join(dataFolder, 'demo', 'clinic.db') };
}

/**
 * Opens an empty database for the demo, separate from the clinic's own and never on its server.
 *
 * @throws StillcountError kind `work` when another demo holds it
 */
export async function openDemoStore(dataFolder: string): Promise<Store> {
  const settings = demoDatabase(dataFolder);
  const store = await openStore(settings);
  if (!(await store.read(hasClinic))) return store;
  // Only a process that could open it may delete the previous demo.
  await store.close();
  await rm(dirname(settings.file), { recursive: true });
  return openStore(settings);
}
