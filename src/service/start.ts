import { join } from 'node:path';
import type { Channel, ChannelName } from '../channels/channel.js';
import { openChannels } from '../channels/openChannels.js';
import { openTerminal } from '../channels/terminal.js';
import { type Checked, lookAtAll } from '../checks/check.js';
import { lookAtClock, quickChecks, quickMs } from '../checks/quickChecks.js';
import { refuseToStart, refuseToStartFor } from '../checks/startChecks.js';
import { Troubles } from '../checks/troubles.js';
import { watchOwnerLinks } from '../clinic/accounts/ownerLinks.js';
import { adviseByClock } from '../clinic/followup/refreshAdvice.js';
import { makeAhead, makeAheadFor } from '../clinic/listening/makeAhead.js';
import { lookAtNotes } from '../clinic/listening/noteSigns.js';
import { lookForNotPlayable } from '../clinic/listening/notPlayable.js';
import { openHearing } from '../clinic/resources/auditionCache.js';
import { Incidents } from '../clinic/resources/incidents.js';
import { ReadVersions } from '../clinic/resources/readVersions.js';
import { SessionLengths } from '../clinic/resources/sessionLengths.js';
import { openSignInLimits } from '../clinic/resources/signInLimits.js';
import { markUnasked } from '../clinic/screening/unasked.js';
import { hashToken, newToken } from '../clinic/tokens.js';
import { demoDatabase, openDemoStore } from '../demo/openDemoStore.js';
import { seedDemo } from '../demo/seed.js';
import type { EncoderTimes } from '../ffmpeg/encoderTimes.js';
import { openServer } from '../http/app.js';
import { openAssets } from '../http/assets/assets.js';
import { explainFolder } from '../http/pages/home/dataFolder.js';
import { openListeningLimits } from '../http/server/listeningLimits.js';
import { listenOn } from '../http/server/listenOn.js';
import type { HttpResources } from '../http/server/resources.js';
import { openPages } from '../http/templates/render.js';
import type { Log } from '../log/log.js';
import { Runner, type Running, runByClock, superseded } from '../reminders/runner.js';
import { openReminderSecrets, type ReminderSecrets } from '../reminders/secrets.js';
import { watchSending } from '../reminders/watchdog.js';
import { readMessages } from '../session/readClinicWords.js';
import { RenderedSessionStore } from '../session/renderedSessionStore.js';
import { readSettings } from '../session/settings.js';
import { openSoundSlots } from '../session/soundSlots.js';
import { openClinicWorkshop } from '../session/workshop.js';
import { readAllSettings } from '../settings/readSettings.js';
import { refuseToStartWith } from '../settings/startProblems.js';
import { hasClinic, inviteFirstOwner } from '../store/accounts/clinicians.js';
import { damagedParts } from '../store/attention/signed.js';
import { lastChangeCause } from '../store/engine/incidents.js';
import { guardStore, isSuperseded as isRefusedToOlder } from '../store/engine/superseded.js';
import { openAtStart } from '../store/service/openAtStart.js';
import { storeSettings } from '../store/service/settings.js';
import { openWords } from '../text/words.js';
import { dayMs } from '../time/units.js';
import { openZoneData } from '../zones/zoneData.js';
import { keepBackups } from './backups.js';
import { startHousekeeping } from './housekeeping.js';
import { soundTroubles } from './soundTroubles.js';
import { stopService, within } from './stop.js';
import { type CheckWatch, watchChecks, watchedMs } from './watchChecks.js';
import { watchDatabase } from './watchDatabase.js';
import { plansHere, useForPlans, watchZoneData } from './zoneWatch.js';

/** After an error that no one has caught, for keeping it, and for what is under way. */
const keepCrashMs = 2_000;
const crashMs = 8_000;

const linkLastsMs = dayMs;

export type StartedService = {
  /** Where it answers. */
  address: string;
  /** The one-time link for the owner of the first clinic; null when there is a clinic. */
  firstLink: string | null;
  /** How to get into the invented clinic, and the address at which to listen; null unless it was asked for. */
  demo: { email: string; password: string; listenAt: string } | null;
  /** What came of looking, before it answered, at everything that it rests on. */
  checked: readonly Checked[];
  /** Answers what has begun, then lets the database go. Safe to call twice. */
  stop(): Promise<void>;
  /** Logs and keeps an error that no one has caught, then stops as far as a few seconds allow. Never rejects. */
  crash(error: unknown): Promise<void>;
};

export type StartOptions = {
  /** Serves an invented clinic from a database of its own, made again. */
  isDemo?: boolean;
  /** The clock, epoch milliseconds. */
  now?: () => number;
  /** Where the invented clinic's messages are printed. */
  print?: (text: string) => void;
  /** How long the encoder is waited for; as usual when left out. */
  encoderTimes?: EncoderTimes;
  /**
   * Told before a database of an earlier version is backed up and brought to this one, which may take minutes, and
   * again with the file of the backup.
   */
  onUpgrade?: (copy?: string) => void;
};

/**
 * Opens the database, looks at everything that the service rests on, and begins to answer.
 *
 * @throws StillcountError naming the settings, the clock, the database or the port that cannot be used
 */
export async function startService(
  environment: NodeJS.ProcessEnv,
  log: Log,
  { isDemo = false, now = Date.now, print = () => undefined, encoderTimes, onUpgrade }: StartOptions = {},
): Promise<StartedService> {
  const settings = readSettings(environment);
  const own = readAllSettings(environment);
  const { STILLCOUNT_PORT: port, STILLCOUNT_HOST: host } = own;
  refuseToStartWith(environment, !isDemo);
  // A database that is upgraded and backed up under a wrong date is worse than none.
  refuseToStartFor('clock', lookAtClock(now()));
  const databaseSettings = storeSettings(environment, settings.dataFolder);
  const zoneFolders = environment.TZDIR === undefined ? undefined : [environment.TZDIR];
  const zoneData = await openZoneData({ folders: zoneFolders });
  const ownStore = isDemo
    ? await openDemoStore(settings.dataFolder)
    : await openAtStart(databaseSettings, onUpgrade);
  if (ownStore.mayLackLast) log({ event: 'trouble', code: 'last-change', cause: lastChangeCause });
  const store = guardStore(ownStore);
  try {
    const workshop = await openClinicWorkshop(settings, encoderTimes);
    const troubles = new Troubles(now);
    const slots = openSoundSlots(soundTroubles(troubles, log));
    const [pages, words] = await Promise.all([openPages(), openWords(workshop.clipCache)]);
    const assets = await openAssets(pages.part('push-plain', {}));
    const reminderSecrets = await openReminderSecrets(store, now());
    const channels = await channelsFor(reminderSecrets);
    const incidents = new Incidents({ store, log, now });
    let running: Running | undefined;
    let checkWatch: CheckWatch | undefined;
    let isSuperseded = () => false;
    const standsStill = () => [...(running?.standsStill() ?? []), ...(isSuperseded() ? [superseded] : [])];
    const service: HttpResources = {
      store,
      workshop,
      pages,
      words,
      assets,
      log,
      incidents,
      hearing: openHearing(workshop, slots),
      shelf: new RenderedSessionStore(workshop, join(settings.dataFolder, 'cache', 'sessions'), slots),
      lengths: new SessionLengths(),
      versions: new ReadVersions(workshop, (damage) =>
        incidents.report({ code: 'damaged-record', error: damagedParts[damage] }),
      ),
      listeningLimits: openListeningLimits(),
      limits: openSignInLimits(),
      reminderSecrets,
      channelNames: new Set(channels.keys()),
      zoneData,
      standsStill,
      life: { isStopping: false, standsStill, faults: () => checkWatch?.faults() ?? [] },
      troubles,
      now,
      https: own.STILLCOUNT_HTTPS === 'yes',
    };
    await useForPlans(service);
    await lookAtNotes(service);
    const { dataFolder, backupFolder } = settings;
    await explainFolder(pages, dataFolder, isDemo ? null : backupFolder);
    const demo = isDemo ? await seedDemo(service) : null;
    const checksWithin = (mailMs?: number) =>
      quickChecks({
        ...{ environment: isDemo ? {} : environment, dataFolder, now, mailMs },
        backupFolder: isDemo ? null : backupFolder,
        zoneData: async () => service.zoneData,
        database: isDemo ? demoDatabase(dataFolder) : databaseSettings,
        read: (work) => store.read(work),
        // The demo's messages do not leave this machine.
      }).filter(({ name }) => !isDemo || name !== 'channels');
    const checked = await lookAtAll(checksWithin(), quickMs);
    refuseToStart(checked);
    const server = openServer(service);
    const address = await listenOn(server, { port, host });
    const mostMegabytes = own.STILLCOUNT_CACHE_MEGABYTES;
    const watching = watchChecks({ checks: checksWithin(watchedMs - 2_000), checked, troubles, log });
    checkWatch = watching;
    // That it is superseded is told once, and not again by everything that it keeps from being written.
    const onFailure = (what: string, error: unknown) => {
      if (!isRefusedToOlder(error)) incidents.report({ code: 'work-failed', what, error });
    };
    const endHousekeeping = startHousekeeping({
      ...{ dataFolder, mostMegabytes },
      ...{ log, incidents, now },
    });
    const backups = { store, settings: databaseSettings, folder: backupFolder, now };
    const endBackups = isDemo ? async () => undefined : keepBackups({ ...backups, troubles, log }, onFailure);
    const endDatabaseWatch =
      isDemo || databaseSettings.kind !== 'sqlite'
        ? async () => undefined
        : watchDatabase({ file: databaseSettings.file, troubles, log }, onFailure);
    // The demo has no owner who could be locked out, and must not take what is left for the clinic's own service.
    const endOwnerLinks = isDemo
      ? async () => undefined
      : await watchOwnerLinks(
          dataFolder,
          { store, reminderSecrets, sendsMail: channels.has('mail'), now },
          onFailure,
        );
    const isStopping = () => service.life.isStopping;
    const looked = lookForNotPlayable(service, isStopping).catch((error: unknown) =>
      onFailure('programs not looked through', error),
    );
    const sendingParts = {
      ...{ store, channels, onFailure },
      messages: await readMessages(settings.templatesFolder, workshop.clipCache),
      address: (own.STILLCOUNT_ADDRESS ?? address).replace(/\/$/, ''),
    };
    const runner = new Runner({
      ...sendingParts,
      // It asks by itself, and records what came of what it had sent before.
      store: ownStore,
      mayPlan: (db) => plansHere(db, service),
      ...{ ready: looked, secrets: reminderSecrets, now, dataFolder },
      makeAhead: (clinicId, patientId) => makeAheadFor(service, clinicId, patientId),
      onGivenUp: ({ patientId, why }) =>
        incidents.report({ code: 'message-not-sent', error: why, patientId }),
      onDamaged: (damage, patientId) =>
        incidents.report({ code: 'damaged-record', error: damagedParts[damage], patientId }),
      onSuperseded: (steps) => log({ event: 'trouble', code: 'newer-version', cause: steps.join(' ') }),
    });
    isSuperseded = () => runner.isSuperseded;
    const work = runByClock(runner, onFailure);
    running = work;
    // What a newer version sends in place of this one does not stand still, unless that one is gone.
    const endWatch = watchSending({
      ...sendingParts,
      standsStill: () => [...work.standsStill(), ...(runner.isAbandoned ? [superseded] : [])],
    });
    const endZoneWatch = watchZoneData(service, zoneFolders, onFailure);
    const endAdvice = adviseByClock(service, onFailure);
    const marking = markUnasked(service, isStopping).catch((error: unknown) =>
      onFailure('unasked questions not noted', error),
    );
    let stopping: Promise<void> | undefined;
    const stop = () => {
      service.life.isStopping = true;
      stopping ??= stopService({
        ...{ server, log },
        work: [
          () => looked,
          () => service.shelf.close(),
          work.end,
          endWatch,
          endOwnerLinks,
          endAdvice,
          () => marking,
          endHousekeeping,
          endBackups,
          endDatabaseWatch,
          endZoneWatch,
          watching.end,
        ],
        close: [
          () => Promise.all([...channels.values()].map((channel) => channel.close())),
          () => incidents.flush(),
          () => store.close(),
        ],
      });
      return stopping;
    };
    const crash = async (error: unknown) => {
      incidents.report({ code: 'crashed', error: typeof error === 'string' ? undefined : error });
      await within(keepCrashMs, incidents.flush());
      await within(crashMs, stop());
    };
    const firstLink = (await store.read(hasClinic)) ? null : `${address}/begin/${await invite()}`;
    if (demo === null) return { address, firstLink, demo, checked, stop, crash };
    makeAhead(service, demo.listener);
    const { email, password, listenAt } = demo;
    return {
      address,
      firstLink,
      demo: { email, password, listenAt: `${address}${listenAt}` },
      checked,
      stop,
      crash,
    };
  } catch (error) {
    await store.close();
    throw error;
  }

  /** Letters of the invented clinic do not leave this machine: they are printed. */
  async function channelsFor({ vapid }: ReminderSecrets): Promise<ReadonlyMap<ChannelName, Channel>> {
    const pushContact = own.STILLCOUNT_PUSH_CONTACT ?? 'mailto:postmaster@localhost';
    const options = { vapidKeys: vapid, pushContact, print: null, now };
    if (!isDemo) return openChannels(environment, options);
    return new Map([...(await openChannels({}, options)), ['mail', openTerminal(print)]]);
  }

  async function invite(): Promise<string> {
    const token = newToken();
    const nowMs = now();
    const invitation = { tokenHash: hashToken(token), nowMs, expiresAtMs: nowMs + linkLastsMs };
    await store.write((db) => inviteFirstOwner(db, invitation));
    return token;
  }
}
