import { type DescribedCommand, type DescribedOption, type Description, sharedOptions } from './describe.js';

/** Returns the manual of a program in the format that `man` reads (man(7)). */
export function manualOf(program: Description, version: string): string {
  const name = program.name.toUpperCase();
  const shared = sharedOptions(program);
  const isShared = (option: DescribedOption) => shared.some(({ names }) => names[0] === option.names[0]);
  const own = (command: DescribedCommand) => command.options.filter((option) => !isShared(option));
  return `${[
    `.TH ${name} 1 "" "${program.name} ${version}" "${program.name}"`,
    '.SH NAME',
    `${text(program.name)} \\- ${text(lowerFirst(program.description))}`,
    '.SH SYNOPSIS',
    ...synopsis(program.name, '', program.usage),
    ...program.commands.flatMap(({ name: command, usage }) => [
      '.br',
      ...synopsis(program.name, command, usage),
    ]),
    '.SH DESCRIPTION',
    `${text(program.description)}.`,
    '.SH OPTIONS',
    ...own(program).flatMap(optionLines),
    '.PP',
    'Options of every command:',
    ...shared.flatMap(optionLines),
    '.SH COMMANDS',
    ...program.commands.flatMap((command) => commandLines({ ...command, options: own(command) })),
    '.SH EXIT STATUS',
    ...['.TP', '.B 0', 'Done.'],
    ...['.TP', '.B 1', 'A check failed, or the command could not finish.'],
    ...['.TP', '.B 2', 'The command line, a setting or a file is wrong.'],
  ].join('\n')}\n`;
}

function synopsis(program: string, command: string, usage: string): string[] {
  return [`.B ${text([program, command].filter((word) => word !== '').join(' '))}`, text(usage)];
}

function commandLines({ name, usage, description, arguments: values, options }: DescribedCommand): string[] {
  return [
    `.SS "${text(`${name} ${usage}`.trim()).replaceAll('"', '\\(dq')}"`,
    sentence(description),
    ...values.flatMap((value) => ['.TP', `.I ${text(value.name)}`, sentence(value.description)]),
    ...options.flatMap(optionLines),
  ];
}

function optionLines({ names, value, description }: DescribedOption): string[] {
  const shown = names.map((name) => `\\fB${text(name)}\\fR`).join(', ');
  return ['.TP', value === null ? shown : `${shown} \\fI${text(value)}\\fR`, sentence(description)];
}

/**
 * Escapes characters that are special to roff: backslashes, literal hyphens, and a period or quote at the start of a
 * line.
 */
function text(plain: string): string {
  return plain
    .replaceAll('\\', '\\e')
    .replaceAll('-', '\\-')
    .replaceAll('’', '\\(cq')
    .replace(/^(?=[.'])/, '\\&');
}

function sentence(fragment: string): string {
  return `${text(`${fragment.charAt(0).toUpperCase()}${fragment.slice(1)}`)}.`;
}

function lowerFirst(sentence: string): string {
  return `${sentence.charAt(0).toLowerCase()}${sentence.slice(1)}`;
}
