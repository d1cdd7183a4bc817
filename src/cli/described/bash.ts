import type { Description } from './describe.js';

/**
 * A completion for bash: command names first, then the options of the chosen command; where no option has been started,
 * bash completes file names on its own.
 */
export function bashCompletion({ name, commands, options }: Description): string {
  const names = commands.map((command) => command.name);
  const cases = commands.map(
    (command) => `    ${command.name}) words='${namesOf(command.options).join(' ')}' ;;`,
  );
  return `# Completion of ${name} for bash: source <(${name} completion bash)
_${name}() {
  local current="\${COMP_WORDS[COMP_CWORD]}" command='' words='' word
  for word in "\${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
    case $word in -*) ;; *) command=$word; break ;; esac
  done
  COMPREPLY=()
  case $command in
    '') words='${[...names, ...namesOf(options)].join(' ')}' ;;
    help) words='${names.join(' ')}' ;;
${cases.filter((line) => !line.startsWith('    help)')).join('\n')}
  esac
  if [[ -z $command || $command == help || $current == -* ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$words" -- "$current")
  fi
}
complete -o default -F _${name} ${name}
`;
}

function namesOf(options: Description['options']): string[] {
  return options.flatMap(({ names }) => names.filter((name) => name.startsWith('--')));
}
