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

/** The resources shared by commands and queries. Each function declares the parts it needs and gets no others. */
export type Resources = {
  store: Store;
  workshop: ClinicWorkshop;
  words: Words;
  hearing: AuditionCache;
  /** Rendered sessions of listeners. */
  shelf: RenderedSessionStore;
  lengths: SessionLengths;
  versions: ReadVersions;
  limits: SignInLimits;
  reminderSecrets: ReminderSecrets;
  /** The channels this installation can send over. */
  channelNames: ReadonlySet<ChannelName>;
  /** The zone data in use; replaced when the system has a newer release. */
  zoneData: ZoneData;
  life: Life;
  /** Failures while it runs. */
  incidents: Incidents;
  /** Epoch milliseconds. */
  now: () => number;
};
