import { Command, CommanderError } from 'commander';
import { formatProblem, StillcountError } from '../errors/stillcountError.js';
import { readAllSettings } from '../settings/readSettings.js';
import { addBackupCommands } from './commands/backup.js';
import { addCatalogueCommand } from './commands/catalogue.js';
import { addDescribedCommands } from './commands/described.js';
import { addDoctorCommand } from './commands/doctor.js';
import { addFigureCommand } from './commands/figure.js';
import { addGuideCommand } from './commands/guide.js';
import { addInspectCommand } from './commands/inspect.js';
import { addOwnerLinkCommand } from './commands/ownerLink.js';
import { addRemindCommand } from './commands/remind.js';
import { addRenderCommand } from './commands/render.js';
import { addReturnedMailCommand } from './commands/returnedMail.js';
import { addSchemaCommand } from './commands/schema.js';
import { addScriptCommand } from './commands/script.js';
import { addServeCommand } from './commands/serve.js';
import { addSettingsCommand } from './commands/settings.js';
import { addVoicesCommand } from './commands/voices.js';
import { addSharedOptions } from './described/shared.js';
import type { ExitCode, ReportFailure } from './exitCode.js';
import { keepToOwner } from './keepToOwner.js';
import { printTiming, setVerbosity } from './verbosity.js';
import { readVersion } from './version.js';

/**
 * Runs one command line.
 *
 * @param args everything after the program's name
 * @returns the exit code; errors have already been printed to the terminal's error output
 */
export async function runCommand(args: readonly string[]): Promise<ExitCode> {
  let exitCode: ExitCode = 0;
  const reportFailure: ReportFailure = () => {
    exitCode = 1;
  };
  const command = allCommands(reportFailure);
  try {
    await command.parseAsync(args, { from: 'user' });
    return exitCode;
  } catch (error) {
    return exitCodeOf(error);
  }
}

/** Returns the program with all its commands. */
export function allCommands(reportFailure: ReportFailure): Command {
  const command = new Command('stillcount')
    .description('Turns a prescribed lying-down exercise program into a timed spoken session.')
    .version(readVersion(), '--version', 'print the version')
    .exitOverride()
    .showHelpAfterError('Run with --help to see the options.');
  addRenderCommand(command);
  addScriptCommand(command);
  addInspectCommand(command, reportFailure);
  addCatalogueCommand(command);
  addFigureCommand(command);
  addVoicesCommand(command);
  addSchemaCommand(command);
  addServeCommand(command);
  addRemindCommand(command);
  addReturnedMailCommand(command);
  addBackupCommands(command);
  addOwnerLinkCommand(command);
  addDescribedCommands(command);
  addGuideCommand(command);
  addSettingsCommand(command, reportFailure);
  addDoctorCommand(command, reportFailure);
  addSharedOptions(command);
  let startedAt = performance.now();
  command.hook('preAction', (_program, chosen) => {
    startedAt = performance.now();
    setVerbosity(chosen.opts());
    keepToOwner();
    // The list of settings shows what is wrong with them, and the guide explains what to do; no other command starts
    // with a wrong setting.
    if (!['settings', 'guide'].includes(chosen.name())) readAllSettings(process.env);
  });
  command.hook('postAction', (_program, chosen) => {
    printTiming(`${chosen.name()} as a whole`, performance.now() - startedAt);
  });
  return command;
}

function exitCodeOf(error: unknown): ExitCode {
  // Commander has already printed its help or its error.
  if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
  if (error instanceof StillcountError) {
    process.stderr.write(`${error.problems.map(formatProblem).join('\n')}\n`);
    return error.kind === 'input' ? 2 : 1;
  }
  const message = error instanceof Error ? error.message : String(error);
  process.stderr.write(`Unexpected error: ${message}\n`);
  return 1;
}
