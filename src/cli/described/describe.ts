import type { Command } from 'commander';

/** An option as it is typed and told. */
export type DescribedOption = {
  /** As typed, the long form first. */
  names: readonly string[];
  /** The name of its value; null for an option without one. */
  value: string | null;
  description: string;
};

export type DescribedCommand = {
  name: string;
  /** What follows the name, for example `[options] <program>`. */
  usage: string;
  description: string;
  arguments: readonly { name: string; description: string }[];
  options: readonly DescribedOption[];
};

/** What the program's own definitions say about it: the one source of help, completion and manual. */
export type Description = DescribedCommand & { commands: readonly DescribedCommand[] };

/** What every command takes; told once where all of them are told of. */
export function sharedOptions({ commands }: Description): readonly DescribedOption[] {
  const [first, ...others] = commands.filter(({ options }) => options.length > 0);
  return (first?.options ?? []).filter((option) => others.every((other) => takes(other, option)));
}

function takes({ options }: DescribedCommand, option: DescribedOption): boolean {
  return options.some(({ names }) => names[0] === option.names[0]);
}

/** Reads a command and those below it. */
export function describeProgram(program: Command): Description {
  const commands = program
    .createHelp()
    .visibleCommands(program)
    .map((command) => describeCommand(command));
  return { ...describeCommand(program), commands };
}

function describeCommand(command: Command): DescribedCommand {
  const help = command.createHelp();
  return {
    name: command.name(),
    usage: command.usage(),
    description: sentence(command.description()),
    arguments: help.visibleArguments(command).map((argument) => ({
      name: argument.name(),
      description: sentence(argument.description),
    })),
    options: help.visibleOptions(command).map((option) => ({
      names: [option.long, option.short].filter((name) => name !== undefined && name !== null),
      value: /[<[]([^>\]]+)[>\]]/.exec(option.flags)?.[1] ?? null,
      description: sentence(option.description),
    })),
  };
}

/** Without a full stop, so that whoever prints it decides. */
function sentence(text: string): string {
  return text.trim().replace(/[.]$/, '');
}
