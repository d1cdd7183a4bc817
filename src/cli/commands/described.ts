import { Argument, type Command } from 'commander';
import { bashCompletion } from '../described/bash.js';
import { describeProgram } from '../described/describe.js';
import { manualOf } from '../described/manual.js';
import { zshCompletion } from '../described/zsh.js';
import { readVersion } from '../version.js';

/** `stillcount completion SHELL` and `stillcount manual`, both generated from the commands themselves. */
export function addDescribedCommands(command: Command): void {
  command
    .command('completion')
    .description('print the completion script for a shell')
    .addArgument(new Argument('<shell>', 'bash or zsh').choices(['bash', 'zsh']))
    .action((shell: 'bash' | 'zsh') => {
      const described = describeProgram(command);
      process.stdout.write(shell === 'bash' ? bashCompletion(described) : zshCompletion(described));
    });
  command
    .command('manual')
    .description('print the manual page for man')
    .action(() => {
      process.stdout.write(manualOf(describeProgram(command), readVersion()));
    });
}
