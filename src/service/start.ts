import { type Checked, runChecks } from '../checks/check.js';
import { quickMs } from '../checks/quickChecks.js';
import { refuseToStart } from '../checks/startChecks.js';
import { rescanNotes } from '../clinic/listening/noteSigns.js';
import { prepareSessions } from '../clinic/listening/prepareSessions.js';
import { hashToken, newToken } from '../clinic/tokens.js';
import { openDemoStore } from '../demo/openDemoStore.js';
import { seedDemo } from '../demo/seed.js';
import { openServer } from '../http/app.js';
import { writeFolderNote } from '../http/pages/home/dataFolder.js';
import { listenOn } from '../http/server/listenOn.js';
import type { HttpResources } from '../http/server/resources.js';
import type { Log } from '../log/log.js';
import { hasClinic, inviteFirstOwner } from '../store/accounts/clinicians.js';
import { lastChangeCause } from '../store/engine/incidents.js';
import type { Store } from '../store/engine/openStore.js';
import { guardStore } from '../store/engine/superseded.js';
import { openAtStart } from '../store/service/openAtStart.js';
import { dayMs } from '../time/units.js';
import { openZoneData, type ZoneData } from '../zones/zoneData.js';
import { openResources } from './openResources.js';
import { quickChecksOf } from './startChecks.js';
import { readStartContext, type StartContext, type StartOptions } from './startContext.js';
import { startWork } from './startWork.js';
import { isDoneWithin, stopService } from './stop.js';
import { replanForZoneRelease } from './zoneWatch.js';

/** After an uncaught error: the time for storing it, and for work in progress. */
const keepCrashMs = 2_000;
const crashMs = 8_000;

const linkLastsMs = dayMs;

export type StartedService = {
  /** The address it listens on. */
  address: string;
  /** The one-time link for the owner of the first clinic; null if there is a clinic. */
  firstLink: string | null;
  /** How to sign in to the invented clinic, and its listening address; null unless it was requested. */
  demo: { email: string; password: string; listenAt: string } | null;
  /** The results of the checks made before it accepted requests. */
  checked: readonly Checked[];
  /** Finishes requests in progress, then closes the database. Safe to call twice. */
  stop(): Promise<void>;
  /** Logs and stores an uncaught error, then stops as far as a few seconds allow. Never rejects. */
  crash(error: unknown): Promise<void>;
};

/**
 * Opens the database, checks everything that the service depends on, and starts accepting requests.
 *
 * @throws StillcountError naming the settings, the clock, the database or the port that cannot be used
 */
export async function startService(
  environment: NodeJS.ProcessEnv,
  log: Log,
  options: StartOptions = {},
): Promise<StartedService> {
  const context = readStartContext(environment, log, options);
  const zoneData = await openZoneData({ folders: context.zoneFolders });
  const ownStore = await openOwnStore(context);
  const store = guardStore(ownStore);
  try {
    return await startOver(context, { ownStore, store, zoneData });
  } catch (error) {
    await store.close();
    throw error;
  }
}

async function openOwnStore({ isDemo, folders, database, onUpgrade, log }: StartContext): Promise<Store> {
  const store = isDemo ? await openDemoStore(folders.dataFolder) : await openAtStart(database, onUpgrade);
  if (store.mayLackLast) log({ event: 'trouble', code: 'last-change', cause: lastChangeCause });
  return store;
}

/** Starts over an open database. */
async function startOver(
  context: StartContext,
  { ownStore, store, zoneData }: { ownStore: Store; store: Store; zoneData: ZoneData },
): Promise<StartedService> {
  const { isDemo, folders, log } = context;
  const { STILLCOUNT_PORT: port, STILLCOUNT_HOST: host } = context.settings;
  const opened = await openResources(context, { store, zoneData });
  const { service, channels } = opened;
  await replanForZoneRelease(service);
  await rescanNotes(service);
  await writeFolderNote(service.pages, folders.dataFolder, isDemo ? null : folders.backupFolder);
  const demo = isDemo ? await seedDemo(service) : null;
  const checked = await runChecks(quickChecksOf(context, service), quickMs);
  refuseToStart(checked);
  const server = openServer(service);
  const address = await listenOn(server, { port, host });
  const work = await startWork(context, opened, { store: ownStore, address, checked });
  let stopping: Promise<void> | undefined;
  const stop = () => {
    service.life.isStopping = true;
    stopping ??= stopService({
      ...{ server, log, work },
      close: [
        () => Promise.all([...channels.values()].map((channel) => channel.close())),
        () => service.incidents.flush(),
        () => store.close(),
      ],
    });
    return stopping;
  };
  const crash = async (error: unknown) => {
    service.incidents.report({ code: 'crashed', error: typeof error === 'string' ? undefined : error });
    await isDoneWithin(keepCrashMs, service.incidents.flush());
    await isDoneWithin(crashMs, stop());
  };
  const firstLink = await makeFirstLink(service, address);
  if (demo === null) return { address, firstLink, demo, checked, stop, crash };
  prepareSessions(service, demo.listener);
  const { email, password, listenAt } = demo;
  return {
    ...{ address, firstLink, checked, stop, crash },
    demo: { email, password, listenAt: `${address}${listenAt}` },
  };
}

/** Invites the owner of a first clinic; null if there is a clinic. */
async function makeFirstLink(
  { store, now }: Pick<HttpResources, 'store' | 'now'>,
  address: string,
): Promise<string | null> {
  if (await store.read(hasClinic)) return null;
  const token = newToken();
  const nowMs = now();
  const invitation = { tokenHash: hashToken(token), nowMs, expiresAtMs: nowMs + linkLastsMs };
  await store.write((db) => inviteFirstOwner(db, invitation));
  return `${address}/begin/${token}`;
}
