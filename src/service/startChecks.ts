import type { Check } from '../checks/check.js';
import { quickChecks } from '../checks/quickChecks.js';
import type { HttpResources } from '../http/server/resources.js';
import type { StartContext } from './startContext.js';

/**
 * Returns the quick checks of what the service depends on.
 *
 * @param mailMs how long the mail server may take; the default when left out
 */
export function quickChecksOf(
  { environment, folders, database, isDemo, now }: StartContext,
  service: Pick<HttpResources, 'store' | 'zoneData'>,
  mailMs?: number,
): Check[] {
  return quickChecks({
    ...{ environment: isDemo ? {} : environment, dataFolder: folders.dataFolder, now, mailMs },
    backupFolder: isDemo ? null : folders.backupFolder,
    zoneData: async () => service.zoneData,
    database,
    read: (work) => service.store.read(work),
    // The demo's messages do not leave this machine.
  }).filter(({ name }) => !isDemo || name !== 'channels');
}
