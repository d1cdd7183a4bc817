import { checkClock } from '../checks/quickChecks.js';
import { refuseToStartFor } from '../checks/startChecks.js';
import { demoDatabase } from '../demo/openDemoStore.js';
import type { EncoderTimes } from '../ffmpeg/encoderTimes.js';
import type { Log } from '../log/log.js';
import { readSettings, type ServiceFolders } from '../session/settings.js';
import { readAllSettings } from '../settings/readSettings.js';
import { refuseToStartWith } from '../settings/startProblems.js';
import type { StoreSettings } from '../store/engine/openStore.js';
import { storeSettings } from '../store/service/settings.js';

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

/** What a service is started with. */
export type StartContext = {
  environment: NodeJS.ProcessEnv;
  log: Log;
  isDemo: boolean;
  now: () => number;
  print: (text: string) => void;
  encoderTimes: EncoderTimes | undefined;
  onUpgrade: StartOptions['onUpgrade'];
  folders: ServiceFolders;
  settings: ReturnType<typeof readAllSettings>;
  database: StoreSettings;
  /** Where the system keeps its time zones; undefined for the usual places. */
  zoneFolders: readonly string[] | undefined;
};

/**
 * Reads the settings and looks at the clock, before anything is opened.
 *
 * @throws StillcountError naming the settings or the clock that cannot be used
 */
export function readStartContext(
  environment: NodeJS.ProcessEnv,
  log: Log,
  { isDemo = false, now = Date.now, print = () => undefined, encoderTimes, onUpgrade }: StartOptions,
): StartContext {
  const folders = readSettings(environment);
  const settings = readAllSettings(environment);
  refuseToStartWith(environment, !isDemo);
  // A database that is upgraded and backed up under a wrong date is worse than none.
  refuseToStartFor('clock', checkClock(now()));
  const ownDatabase = storeSettings(environment, folders.dataFolder);
  return {
    ...{ environment, log, isDemo, now, print, encoderTimes, onUpgrade, folders, settings },
    database: isDemo ? demoDatabase(folders.dataFolder) : ownDatabase,
    zoneFolders: environment.TZDIR === undefined ? undefined : [environment.TZDIR],
  };
}
