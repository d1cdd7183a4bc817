import type { Command } from 'commander';
import { checkLines } from '../../checks/check.js';
import { findFfmpeg } from '../../ffmpeg/findFfmpeg.js';
import { spareMemory } from '../../web/spareMemory.js';
import type { StartedService } from '../../web/startService.js';
import { keepToOwner } from '../keepToOwner.js';
import { print } from '../print.js';
import { takeSignals } from '../signals.js';

/** `stillcount serve`: the clinic's web service, until it is interrupted. */
export function addServeCommand(command: Command): void {
  command
    .command('serve')
    .description(
      'start the web service of a clinic (settings: STILLCOUNT_PORT, STILLCOUNT_HOST, DATABASE_URL)',
    )
    .option('--demo', 'serve an invented clinic with eight weeks of history, made anew each time')
    .action(async ({ demo }: { demo?: true }) => {
      keepToOwner();
      spareMemory();
      const asked = takeSignals();
      // It takes a moment to answer, and is asked for at the end: whether it is there is told then.
      findFfmpeg().catch(() => undefined);
      // Loaded here, so that every other command starts without the pages of a clinic.
      const { logToStderr } = await import('../../web/log.js');
      const { startService } = await import('../../web/startService.js');
      const service = await startService(process.env, logToStderr, { isDemo: demo === true });
      print(...checkLines(await service.check()));
      tellHowToReach(service);
      await asked;
      print('Stopping: what is under way is finished first. A second signal ends it at once.');
      await service.stop();
      print('Stopped.');
      // Whatever may still hang, such as a name that is being looked up, must not keep it.
      process.exit(0);
    });
}

function tellHowToReach({ address, firstLink, demo }: StartedService): void {
  print(`Stillcount answers at ${address}`);
  if (firstLink !== null) print(`Set up your clinic here, once, within a day:\n  ${firstLink}`);
  if (demo !== null) {
    print(`Sign in to the demo clinic: ${demo.email}, password ${demo.password}`);
    print(`Listen as one of its patients: ${demo.listenAt}`);
  }
  print('Ctrl-C stops it.');
}
