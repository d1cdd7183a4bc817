import type { Command } from 'commander';

/** An option as it is typed, with its description. */
export type DescribedOption = {
  /** All spellings, the long form first. */
  names: readonly string[];
  /** The name of its value; null for an option without one. */
  value: string | null;
  description: string;
};

export type DescribedCommand = {
  name: string;
  /** The text after the name, for example `[options] <program>`. */
  usage: string;
  description: string;
  arguments: readonly { name: string; description: string }[];
  options: readonly DescribedOption[];
};

/** A description of the program from its own definitions: the only source of help, completion and manual. */
export type Description = DescribedCommand & { commands: readonly DescribedCommand[] };

/** The options that every command takes, documented once where all commands are listed. */
export function sharedOptions({ commands }: Description): readonly DescribedOption[] {
  const [first, ...others] = commands.filter(({ options }) => options.length > 0);
  return (first?.options ?? []).filter((option) => others.every((other) => takes(other, option)));
}

function takes({ options }: DescribedCommand, option: DescribedOption): boolean {
  return options.some(({ names }) => names[0] === option.names[0]);
}

/** Describes a command and its subcommands. */
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

/** Removes the period, so that the caller decides about punctuation. */
function sentence(text: string): string {
  return text.trim().replace(/[.]$/, '');
}
