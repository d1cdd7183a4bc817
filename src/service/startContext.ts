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
  /** Serves an invented clinic from a separate database that is created anew. */
  isDemo?: boolean;
  /** The clock, epoch milliseconds. */
  now?: () => number;
  /** Prints the invented clinic's messages. */
  print?: (text: string) => void;
  /** The timeouts of the encoder; the defaults when left out. */
  encoderTimes?: EncoderTimes;
  /**
   * Called before a database of an earlier version is backed up and upgraded, which may take minutes, and again with
   * the file of the backup.
   */
  onUpgrade?: (copy?: string) => void;
};

/** The inputs for starting a service. */
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
  /** Where the system stores its time zones; undefined for the default folders. */
  zoneFolders: readonly string[] | undefined;
};

/**
 * Reads the settings and checks the clock before anything is opened.
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
  // Upgrading and backing up a database under a wrong date would be worse than not starting.
  refuseToStartFor('clock', checkClock(now()));
  const ownDatabase = storeSettings(environment, folders.dataFolder);
  return {
    ...{ environment, log, isDemo, now, print, encoderTimes, onUpgrade, folders, settings },
    database: isDemo ? demoDatabase(folders.dataFolder) : ownDatabase,
    zoneFolders: environment.TZDIR === undefined ? undefined : [environment.TZDIR],
  };
}
