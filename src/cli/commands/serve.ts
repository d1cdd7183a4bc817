import type { Command } from 'commander';
import { type Checked, checkLines } from '../../checks/check.js';
import { findFfmpeg } from '../../ffmpeg/findFfmpeg.js';
import { limitHeapGrowth } from '../../service/limitHeapGrowth.js';
import type { StartedService } from '../../service/start.js';
import { takeCrashes } from '../crash.js';
import { confirmNewData } from '../newData.js';
import { print } from '../print.js';
import { showUnderWay } from '../progress.js';
import { takeSignals } from '../signals.js';
import { isQuiet, tell, timed } from '../told.js';

type Options = { demo?: true; newData?: true; json?: true };

/** `stillcount serve`: the clinic's web service, until it is interrupted. */
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
      const asked = takeSignals();
      // It takes a moment to answer, and is asked for at the end: whether it is there is told then.
      findFfmpeg().catch(() => undefined);
      // Loaded here, so that every other command starts without the pages of a clinic.
      const { openStderrLog } = await import('../../log/log.js');
      const { startService } = await import('../../service/start.js');
      const log = openStderrLog({ isQuiet: isQuiet() });
      let doing = 'Starting';
      const kept: { copy: string | null } = { copy: null };
      const service = await timed('start', () =>
        showUnderWay(
          () => doing,
          (changed) => {
            const onUpgrade = (copy?: string) => {
              kept.copy = copy ?? null;
              if (copy !== undefined) return;
              doing = 'Backing up and upgrading the database';
              changed();
            };
            return startService(process.env, log, { isDemo: demo === true, onUpgrade });
          },
        ),
      );
      takeCrashes(service.crash);
      const { checked } = service;
      if (json === true) print(JSON.stringify(inOneLine(service, checked, kept.copy)));
      else {
        if (kept.copy !== null)
          print(`The database was upgraded. A copy from before the upgrade: ${kept.copy}`);
        print(...checkLines(checked.filter(({ state }) => state !== 'ok' || !isQuiet())));
        tellHowToReach(service);
      }
      await asked;
      if (json !== true) tell('Stopping after work in progress is finished. A second signal stops at once.');
      await timed('stop', () => service.stop());
      if (json !== true) tell('Stopped.');
      // Whatever may still hang, such as a name that is being looked up, must not keep it.
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
  tell('Ctrl-C stops it.');
}
