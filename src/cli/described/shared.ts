import { type Command, Option } from 'commander';

/** Adds the shared options to every command. Call it once all commands exist. */
export function addSharedOptions(program: Command): void {
  const help = ['-h, --help', 'print this help'] as const;
  program.helpOption(...help).helpCommand('help [command]', 'print the help of a command');
  for (const command of program.commands) {
    command
      .helpOption(...help)
      .addOption(new Option('-q, --quiet', 'print only results and errors').conflicts('verbose'))
      .addOption(new Option('-v, --verbose', 'print each step and how long it takes, to standard error'));
  }
}
