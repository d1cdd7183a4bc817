import type { ReminderSecrets } from '../../reminders/secrets.js';
import type { RenderedSessionStore } from '../../session/renderedSessionStore.js';
import type { ClinicWorkshop } from '../../session/workshop.js';
import type { Store } from '../../store/engine/openStore.js';
import type { ChannelName } from '../../store/schema/reminderSchema.js';
import type { Words } from '../../text/words.js';
import type { ZoneData } from '../../zones/zoneData.js';
import type { AuditionCache } from './auditionCache.js';
import type { Incidents } from './incidents.js';
import type { Life } from './life.js';
import type { ReadVersions } from './readVersions.js';
import type { SessionLengths } from './sessionLengths.js';
import type { SignInLimits } from './signInLimits.js';

/** What commands and readings rest on. Each function names the parts that it takes, and is given no others. */
export type Resources = {
  store: Store;
  workshop: ClinicWorkshop;
  words: Words;
  hearing: AuditionCache;
  /** Made sessions of listeners. */
  shelf: RenderedSessionStore;
  lengths: SessionLengths;
  versions: ReadVersions;
  limits: SignInLimits;
  reminderSecrets: ReminderSecrets;
  /** Over which ways this installation can send. */
  channelNames: ReadonlySet<ChannelName>;
  /** By which times are worked out; another one once the system has a newer release. */
  zoneData: ZoneData;
  life: Life;
  /** What failed while it ran. */
  incidents: Incidents;
  /** Epoch milliseconds. */
  now: () => number;
};
