import type { Command } from 'commander';
import { spareMemory } from '../../web/spareMemory.js';
import { keepToOwner } from '../keepToOwner.js';

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
      // Loaded here, so that every other command starts without the pages of a clinic.
      const { logToStderr } = await import('../../web/log.js');
      const { startService } = await import('../../web/startService.js');
      const service = await startService(process.env, logToStderr, { isDemo: demo === true });
      process.stdout.write(`Stillcount answers at ${service.address}\n`);
      if (service.firstLink !== null) {
        process.stdout.write(`Set up your clinic here, once, within a day:\n  ${service.firstLink}\n`);
      }
      if (service.demo !== null) {
        const { email, password, listenAt } = service.demo;
        process.stdout.write(`Sign in to the demo clinic: ${email}, password ${password}\n`);
        process.stdout.write(`Listen as one of its patients: ${listenAt}\n`);
      }
      process.stdout.write('Ctrl-C stops it.\n');
      await new Promise<void>((resolve) => {
        for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => resolve());
      });
      await service.stop();
    });
}
