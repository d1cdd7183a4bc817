import { rm } from 'node:fs/promises';
import { join } from 'node:path';
import { hasClinic } from '../../store/clinicians.js';
import { openStore, type Store } from '../../store/openStore.js';

/**
 * An empty database for the demo, apart from the clinic's own and never on its server.
 *
 * @throws StillcountError kind `work` when another demo holds it
 */
export async function openDemoStore(dataFolder: string): Promise<Store> {
  const folder = join(dataFolder, 'demo');
  const settings = { kind: 'sqlite', file: join(folder, 'clinic.db') } as const;
  const store = await openStore(settings);
  if (!(await store.read(hasClinic))) return store;
  // Only whoever could open it may take the last demo away.
  await store.close();
  await rm(folder, { recursive: true });
  return openStore(settings);
}
