import { existsSync } from 'node:fs';
import type { Command } from 'commander';
import { type Checked, checkLines, runChecks } from '../../checks/check.js';
import { readSettings } from '../../session/settings.js';
import { listSettings } from '../../settings/listSettings.js';
import { storeSettings } from '../../store/service/settings.js';
import type { ReportFailure } from '../exitCode.js';
import { print, printJson } from '../print.js';
import { showActivity } from '../progress.js';
import { printTiming } from '../verbosity.js';

/** How long a slow mail server may take to let us sign in. */
const patientMs = 30_000;

type Options = { mail?: string; json?: boolean };

/** `stillcount doctor`: tries out everything that a service depends on and prints one page to keep on file. */
export function addDoctorCommand(command: Command, reportFailure: ReportFailure): void {
  command
    .command('doctor')
    .description('check everything the service depends on, even while it runs, and print one page')
    .option('--mail <address>', 'address to send a test email to')
    .option('--json', 'print as JSON')
    .action(async ({ mail, json }: Options) => {
      const checked = await examine(mail ?? null);
      if (json === true) printJson({ at: new Date().toISOString(), checked });
      else print(...page(checked));
      if (checked.some(({ state }) => state === 'fault')) reportFailure();
    });
}

async function examine(mailTo: string | null): Promise<Checked[]> {
  // Loaded here, so that all other commands start without the checks.
  const { longChecks, longMs } = await import('../../checks/longChecks.js');
  const { quickChecks } = await import('../../checks/quickChecks.js');
  const { openZoneData } = await import('../../zones/zoneData.js');
  const { readSnapshot } = await import('../../store/engine/openStore.js');
  const environment = process.env;
  const folders = readSettings(environment);
  const database = storeSettings(environment, folders.dataFolder);
  const common = { environment, now: Date.now };
  const quick = quickChecks({
    ...common,
    ...{ dataFolder: folders.dataFolder, database, mailMs: patientMs },
    // The service creates a missing folder itself, as its own user.
    backupFolder: existsSync(folders.backupFolder) ? folders.backupFolder : null,
    read: (work) => readSnapshot(database, work),
    zoneData: () =>
      openZoneData({ folders: environment.TZDIR === undefined ? undefined : [environment.TZDIR] }),
  });
  const checks = [...quick, ...longChecks({ ...common, database, folders, mailTo })];
  const unfinished = new Set(checks.map(({ name }) => name));
  return showActivity(
    () => `Trying out: ${[...unfinished].join(', ')}`,
    () =>
      runChecks(checks, longMs, (name, ms) => {
        unfinished.delete(name);
        printTiming(`look at ${name}`, ms);
      }),
  );
}

function page(checked: readonly Checked[]): string[] {
  const count = (state: Checked['state']) => checked.filter((each) => each.state === state).length;
  const faults = count('fault');
  const set = listSettings(process.env).filter(({ source }) => source === 'environment');
  return [
    `Stillcount doctor, ${new Date().toISOString().slice(0, 16)}Z`,
    `Node.js ${process.version} on ${process.platform} ${process.arch}`,
    '',
    ...checkLines(checked),
    '',
    ...(set.length === 0
      ? ['All settings have their default values.']
      : ['Settings that differ from the default:']),
    ...set.map(({ name, value }) => `  ${name} = ${value}`),
    '',
    faults === 0
      ? `No faults. Warnings: ${count('warning')}.`
      : `Faults: ${faults}. Warnings: ${count('warning')}. Fix the faults before you rely on the service.`,
  ];
}
