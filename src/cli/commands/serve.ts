import type { Command } from 'commander';
import { type Checked, checkLines } from '../../checks/check.js';
import { findFfmpeg } from '../../ffmpeg/findFfmpeg.js';
import { limitHeapGrowth } from '../../service/limitHeapGrowth.js';
import type { StartedService } from '../../service/start.js';
import { interceptCrashes } from '../crash.js';
import { confirmNewData } from '../newData.js';
import { print } from '../print.js';
import { showActivity } from '../progress.js';
import { interceptSignals } from '../signals.js';
import { isQuiet, printInfo, withTiming } from '../verbosity.js';

type Options = { demo?: true; newData?: true; json?: true };

/** `stillcount serve`: runs the clinic's web service until it is interrupted. */
export function addServeCommand(command: Command): void {
  command
    .command('serve')
    .description(
      'start the web service of a clinic (settings: STILLCOUNT_PORT, STILLCOUNT_HOST, DATABASE_URL)',
    )
    .option('--demo', 'serve an invented clinic with eight weeks of history, made fresh each time')
    .option('--new-data', 'start a new clinic even though another folder or the daily backups hold one')
    .option('--json', 'print the address and the results of the checks as one line of JSON')
    .action(async ({ demo, newData, json }: Options) => {
      limitHeapGrowth();
      if (demo !== true && newData !== true) await confirmNewData(process.env);
      const stopSignal = interceptSignals();
      // Started early because it takes a moment; the result is used, and a failure reported, at the end.
      findFfmpeg().catch(() => undefined);
      // Loaded here, so that all other commands start without the clinic's pages.
      const { openStderrLog } = await import('../../log/log.js');
      const { startService } = await import('../../service/start.js');
      const log = openStderrLog({ isQuiet: isQuiet() });
      let doing = 'Starting';
      const upgradeBackup: { copy: string | null } = { copy: null };
      const service = await withTiming('start', () =>
        showActivity(
          () => doing,
          (changed) => {
            const onUpgrade = (copy?: string) => {
              upgradeBackup.copy = copy ?? null;
              if (copy !== undefined) return;
              doing = 'Backing up and upgrading the database';
              changed();
            };
            return startService(process.env, log, { isDemo: demo === true, onUpgrade });
          },
        ),
      );
      interceptCrashes(service.crash);
      const { checked } = service;
      if (json === true) print(JSON.stringify(inOneLine(service, checked, upgradeBackup.copy)));
      else {
        if (upgradeBackup.copy !== null)
          print(`The database was upgraded. A copy from before the upgrade: ${upgradeBackup.copy}`);
        print(...checkLines(checked.filter(({ state }) => state !== 'ok' || !isQuiet())));
        tellHowToReach(service);
      }
      await stopSignal;
      if (json !== true)
        printInfo('Stopping after work in progress is finished. A second signal stops at once.');
      await withTiming('stop', () => service.stop());
      if (json !== true) printInfo('Stopped.');
      // Nothing that still hangs, such as a DNS lookup, may keep the process alive.
      process.exit(0);
    });
}

function inOneLine(
  { address, firstLink, demo }: StartedService,
  checked: readonly Checked[],
  beforeUpgrade: string | null,
) {
  return { address, firstLink, demo, checked, beforeUpgrade };
}

function tellHowToReach({ address, firstLink, demo }: StartedService): void {
  print(`Stillcount answers at ${address}`);
  if (firstLink !== null)
    print(`Set up your clinic here (the link works once, within a day):\n  ${firstLink}`);
  if (demo !== null) {
    print(`Sign in to the demo clinic: ${demo.email}, password ${demo.password}`);
    print(`Listen as one of its patients: ${demo.listenAt}`);
  }
  printInfo('Ctrl-C stops it.');
}
