import type { DescribedCommand, Description } from './describe.js';

/** A completion for zsh: commands with their descriptions, then options, and file names where a value is expected. */
export function zshCompletion({ name, commands, options }: Description): string {
  const listed = commands.map((command) => `    ${quoted(`${command.name}:${command.description}`)}`);
  return `#compdef ${name}
# Completion of ${name} for zsh: source <(${name} completion zsh)
_${name}() {
  local -a commands
  commands=(
${listed.join('\n')}
  )
  if (( CURRENT == 2 )); then
    _describe command commands
    _arguments ${argumentsOf({ options, arguments: [] })}
    return
  fi
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
${commands.map((command) => `    ${command.name}) _arguments ${argumentsOf(command)} ;;`).join('\n')}
  esac
}
compdef _${name} ${name}
`;
}

function argumentsOf(command: Pick<DescribedCommand, 'options' | 'arguments'>): string {
  const options = command.options.flatMap(({ names, value, description }) =>
    names.map(
      (name) => `${name}[${escaped(description)}]${value === null ? '' : `:${escaped(value)}:_files`}`,
    ),
  );
  const values = command.arguments.map((argument) => `:${escaped(argument.name)}:_files`);
  return [...options, ...values].map(quoted).join(' ');
}

/** Escapes characters that are special to `_arguments`. */
function escaped(text: string): string {
  return text.replaceAll(/[[\]:\\]/g, '\\$&');
}

function quoted(text: string): string {
  return `'${text.replaceAll("'", "'\\''")}'`;
}
