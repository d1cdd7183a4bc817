import { join } from 'node:path';
import type { Channel, ChannelName } from '../channels/channel.js';
import { openChannels } from '../channels/openChannels.js';
import { openTerminal } from '../channels/terminal.js';
import { Troubles } from '../checks/troubles.js';
import { openAuditionCache } from '../clinic/resources/auditionCache.js';
import { Incidents } from '../clinic/resources/incidents.js';
import { ReadVersions } from '../clinic/resources/readVersions.js';
import { SessionLengths } from '../clinic/resources/sessionLengths.js';
import { openSignInLimits } from '../clinic/resources/signInLimits.js';
import { openAssets } from '../http/assets/assets.js';
import { openListeningLimits } from '../http/server/listeningLimits.js';
import type { HttpResources } from '../http/server/resources.js';
import { openPages } from '../http/templates/render.js';
import { openReminderSecrets, type ReminderSecrets } from '../reminders/secrets.js';
import { RenderedSessionStore } from '../session/renderedSessionStore.js';
import { openSoundSlots } from '../session/soundSlots.js';
import { openClinicWorkshop } from '../session/workshop.js';
import { damagedParts } from '../store/attention/signed.js';
import type { Store } from '../store/engine/openStore.js';
import { openWords } from '../text/words.js';
import type { ZoneData } from '../zones/zoneData.js';
import { reportSoundTroubles } from './soundTroubles.js';
import type { StartContext } from './startContext.js';

/** The health of the scheduled work; queried from the start, and accurate once that work has started. */
type Vitals = { standsStill: () => readonly string[]; faults: () => readonly string[] };

/** The resources for handling requests, and the channels for sending. */
export type OpenedResources = {
  service: HttpResources;
  channels: ReadonlyMap<ChannelName, Channel>;
  vitals: Vitals;
};

/** Opens the resources for handling requests, over an open database. */
export async function openResources(
  context: StartContext,
  { store, zoneData }: { store: Store; zoneData: ZoneData },
): Promise<OpenedResources> {
  const { folders, settings, log, now, encoderTimes } = context;
  const workshop = await openClinicWorkshop(folders, encoderTimes);
  const troubles = new Troubles(now);
  const slots = openSoundSlots(reportSoundTroubles(troubles, log));
  const [pages, words] = await Promise.all([openPages(), openWords(workshop.clipCache)]);
  const assets = await openAssets(pages.part('push-plain', {}));
  const reminderSecrets = await openReminderSecrets(store, now());
  const channels = await openOwnChannels(context, reminderSecrets);
  const incidents = new Incidents({ store, log, now });
  const vitals: Vitals = { standsStill: () => [], faults: () => [] };
  const standsStill = () => vitals.standsStill();
  const service: HttpResources = {
    store,
    workshop,
    pages,
    words,
    assets,
    log,
    incidents,
    hearing: openAuditionCache(workshop, slots),
    shelf: new RenderedSessionStore(workshop, join(folders.dataFolder, 'cache', 'sessions'), slots),
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
    life: { isStopping: false, standsStill, faults: () => vitals.faults() },
    troubles,
    now,
    https: settings.STILLCOUNT_HTTPS === 'yes',
  };
  return { service, channels, vitals };
}

/** The demo's messages do not leave this machine: they are printed. */
async function openOwnChannels(
  { environment, settings, isDemo, now, print }: StartContext,
  { vapid }: ReminderSecrets,
): Promise<ReadonlyMap<ChannelName, Channel>> {
  const pushContact = settings.STILLCOUNT_PUSH_CONTACT ?? 'mailto:postmaster@localhost';
  const options = { vapidKeys: vapid, pushContact, print: null, now };
  if (!isDemo) return openChannels(environment, options);
  return new Map([...(await openChannels({}, options)), ['mail', openTerminal(print)]]);
}
