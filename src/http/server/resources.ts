import type { ReminderSecrets } from '../../reminders/secrets.js';
import type { SessionShelf } from '../../session/sessionShelf.js';
import type { ClinicWorkshop } from '../../session/workshop.js';
import type { Store } from '../../store/engine/openStore.js';
import type { ChannelName } from '../../store/schema/reminderSchema.js';
import type { ZoneData } from '../../zones/zoneData.js';
import type { Assets } from '../assets/assets.js';
import type { SignInLimits } from '../../clinic/accounts/signInLimits.js';
import type { ListeningLimits } from './listeningLimits.js';
import type { Hearing } from '../../clinic/listening/auditionCache.js';
import type { Incidents } from '../../clinic/operations/incidents.js';
import type { ReadVersions } from '../../clinic/listening/readVersions.js';
import type { SessionLengths } from '../../clinic/listening/sessionLengths.js';
import type { Log } from '../../log/log.js';
import type { Pages } from '../templates/render.js';
import type { Troubles } from '../../clinic/operations/troubles.js';
import type { Words } from '../../text/words.js';

/** How a service is doing, for whoever watches it from outside. */
export type Life = {
  isStopping: boolean;
  /** What has shown no sign of life for too long, such as the sending of warnings. */
  standsStill: () => readonly string[];
  /** What it rests on and cannot do its work without, and is at fault, by the names of the checks. */
  faults: () => readonly string[];
};

/** What the pages need of the rest of the house. */
export type Service = {
  store: Store;
  workshop: ClinicWorkshop;
  pages: Pages;
  words: Words;
  assets: Assets;
  hearing: Hearing;
  /** Made sessions of listeners. */
  shelf: SessionShelf;
  lengths: SessionLengths;
  versions: ReadVersions;
  listeningLimits: ListeningLimits;
  limits: SignInLimits;
  reminderSecrets: ReminderSecrets;
  /** Over which ways this installation can send. */
  channelNames: ReadonlySet<ChannelName>;
  /** By which times are worked out; another one once the system has a newer release. */
  zoneData: ZoneData;
  /** Which of the work that must never stand still does so by now, as its failures are called; mostly none. */
  standsStill: () => readonly string[];
  life: Life;
  /** What is wrong with the running of the service, for its owners. */
  troubles: Troubles;
  /** What failed while it ran. */
  incidents: Incidents;
  log: Log;
  /** Epoch milliseconds. */
  now: () => number;
  /** Whether browsers reach the service over https, through a proxy in front of it. */
  https: boolean;
};
