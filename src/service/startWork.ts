import type { Checked } from '../checks/check.js';
import { watchOwnerLinks } from '../clinic/accounts/ownerLinks.js';
import { refreshAdviceByClock } from '../clinic/followup/refreshAdvice.js';
import { detectUnplayablePrograms } from '../clinic/listening/notPlayable.js';
import { prepareSessionsFor } from '../clinic/listening/prepareSessions.js';
import { flagIncompleteScreenings } from '../clinic/screening/unasked.js';
import { Runner, startRunner, superseded } from '../reminders/runner.js';
import { watchSending } from '../reminders/watchdog.js';
import { readMessages } from '../session/readClinicWords.js';
import { damagedParts } from '../store/attention/signed.js';
import type { Store } from '../store/engine/openStore.js';
import { isSuperseded as isRefusedToOlder } from '../store/engine/superseded.js';
import { scheduleBackups } from './backups.js';
import { startHousekeeping } from './housekeeping.js';
import type { OpenedResources } from './openResources.js';
import { quickChecksOf } from './startChecks.js';
import type { StartContext } from './startContext.js';
import { watchChecks, watchedMs } from './watchChecks.js';
import { watchDatabase } from './watchDatabase.js';
import { isPlanningHere, watchZoneData } from './zoneWatch.js';

/**
 * Starts the work that is scheduled while requests are served: upkeep of the machine, sending, and computing advice.
 *
 * @param started.store the unguarded database, which itself reports what a newer version has taken over
 * @param started.address the address of the service
 * @param started.checked the results of the startup checks
 * @returns functions that each stop a part of it and wait for work in progress
 */
export async function startWork(
  context: StartContext,
  opened: OpenedResources,
  started: { store: Store; address: string; checked: readonly Checked[] },
): Promise<(() => Promise<unknown>)[]> {
  const { service, vitals } = opened;
  const { incidents } = service;
  // A superseded service is reported once, and not again for every write that fails because of it.
  const onFailure: OnFailure = (what, error) => {
    if (!isRefusedToOlder(error)) incidents.report({ code: 'work-failed', what, error });
  };
  const checkWatch = watchChecks({
    ...{ checked: started.checked, troubles: service.troubles, log: service.log },
    checks: quickChecksOf(context, service, watchedMs - 2_000),
  });
  vitals.faults = () => checkWatch.faults();
  const upkeep = await startUpkeep(context, opened, onFailure);
  const isStopping = () => service.life.isStopping;
  const detecting = detectUnplayablePrograms(service, isStopping).catch((error: unknown) =>
    onFailure('programs not looked through', error),
  );
  const sending = await startSending(context, opened, { ...started, ready: detecting, onFailure });
  const endZoneWatch = watchZoneData(service, context.zoneFolders, onFailure);
  const endAdvice = refreshAdviceByClock(service, onFailure);
  const flagging = flagIncompleteScreenings(service, isStopping).catch((error: unknown) =>
    onFailure('unasked questions not noted', error),
  );
  return [
    () => detecting,
    () => service.shelf.close(),
    ...sending,
    endAdvice,
    () => flagging,
    ...upkeep,
    endZoneWatch,
    checkWatch.end,
  ];
}

type OnFailure = (what: string, error: unknown) => void;

/** Housekeeping, backups, and checks of the database; owner links that are made on this machine. */
async function startUpkeep(
  { folders, settings, database, isDemo }: StartContext,
  { service, channels }: OpenedResources,
  onFailure: OnFailure,
): Promise<(() => Promise<unknown>)[]> {
  const { store, troubles, log, incidents, now, reminderSecrets } = service;
  const { dataFolder, backupFolder } = folders;
  const mostMegabytes = settings.STILLCOUNT_CACHE_MEGABYTES;
  const endHousekeeping = startHousekeeping({ dataFolder, mostMegabytes, log, incidents, now });
  // The demo has nothing to maintain. It also has no owner who could be locked out, and must not take links that are
  // meant for the clinic's own service.
  if (isDemo) return [endHousekeeping];
  const backups = { store, settings: database, folder: backupFolder, now };
  const endBackups = scheduleBackups({ ...backups, troubles, log }, onFailure);
  const endDatabaseWatch =
    database.kind === 'sqlite'
      ? watchDatabase({ file: database.file, troubles, log }, onFailure)
      : async () => undefined;
  const endOwnerLinks = await watchOwnerLinks(
    dataFolder,
    { store, reminderSecrets, sendsMail: channels.has('mail'), now },
    onFailure,
  );
  return [endOwnerLinks, endHousekeeping, endBackups, endDatabaseWatch];
}

/** Planning and sending, and the monitor that reports when they stop. */
async function startSending(
  { folders, settings }: StartContext,
  { service, channels, vitals }: OpenedResources,
  {
    store,
    address,
    ready,
    onFailure,
  }: { store: Store; address: string; ready: Promise<void>; onFailure: OnFailure },
): Promise<(() => Promise<unknown>)[]> {
  const { incidents, log, workshop, reminderSecrets, now } = service;
  const messages = await readMessages(folders.templatesFolder, workshop.clipCache);
  const ownAddress = (settings.STILLCOUNT_ADDRESS ?? address).replace(/\/$/, '');
  const runner = new Runner({
    ...{ channels, onFailure, messages, address: ownAddress },
    // It checks for a newer version itself, and records the outcomes of what it sent before.
    store,
    mayPlan: (db) => isPlanningHere(db, service),
    ...{ ready, secrets: reminderSecrets, now, dataFolder: folders.dataFolder },
    makeAhead: (clinicId, patientId) => prepareSessionsFor(service, clinicId, patientId),
    onGivenUp: ({ patientId, why }) => incidents.report({ code: 'message-not-sent', error: why, patientId }),
    onDamaged: (damage, patientId) =>
      incidents.report({ code: 'damaged-record', error: damagedParts[damage], patientId }),
    onSuperseded: (steps) => log({ event: 'trouble', code: 'newer-version', cause: steps.join(' ') }),
  });
  const running = startRunner(runner, onFailure);
  vitals.standsStill = () => [...running.standsStill(), ...(runner.isSuperseded ? [superseded] : [])];
  // Work that a newer version does instead of this one has not stopped, unless that version is gone.
  const endWatch = watchSending({
    ...{ store: service.store, channels, onFailure, messages, address: ownAddress },
    standsStill: () => [...running.standsStill(), ...(runner.isAbandoned ? [superseded] : [])],
  });
  return [running.end, endWatch];
}
