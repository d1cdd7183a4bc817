import type { Command } from 'commander';

const openings = [
  /(?:^|\s)npm run -s stillcount -- (.*)$/,
  /(?:^|[\s/(])stillcount(?:-as-service)? (?!stillcount)(.*)$/,
];

/** The command lines of stillcount in a text of a shell or a sentence, each as the words after the program's name. */
export function typedCommands(text: string): string[][] {
  return text
    .split('\n')
    .map((line) => line.replace(/(?:^|\s)#.*$/, ''))
    .flatMap((line) => line.split(/\s*(?:\||&&|;|[<>)])\s*/))
    .flatMap((part) => {
      const rest = openings.map((opening) => opening.exec(part)?.[1]).find((found) => found !== undefined);
      const words = rest?.trim().split(/\s+/) ?? [];
      return words[0] === undefined || !isCommandWord(words[0], part) ? [] : [words];
    });
}

/** A file or package may also be called stillcount, as in `systemctl stop stillcount` or a list of groups. */
function isCommandWord(word: string, part: string): boolean {
  return (
    /^(--)?[a-z][a-z-]*$/.test(word) &&
    !/^(sudo )?(docker (build|run)|createdb|psql|useradd|install)\b/.test(part.trim())
  );
}

/** Why a command line would be refused; null when it would not. */
export function whyNotTyped(program: Command, [name = '', ...words]: readonly string[]): string | null {
  if (name === '--version' || name === '--help') return null;
  const command = program.commands.find((each) => each.name() === name);
  if (command === undefined) return `there is no command ${name}`;
  const given: string[] = [];
  for (let at = 0; at < words.length; at += 1) {
    const word = words[at] ?? '';
    if (!word.startsWith('--')) {
      given.push(word);
      continue;
    }
    const option = command.options.find(({ long }) => long === word);
    if (option === undefined) return `${name} takes no ${word}`;
    if (option.required) at += 1;
    if (option.required && words[at] === undefined) return `${word} lacks its value`;
  }
  const wanted = command.registeredArguments;
  const missing = wanted.find((argument, index) => argument.required && given[index] === undefined);
  if (missing !== undefined) return `${name} lacks its ${missing.name()}`;
  return given.length > wanted.length ? `${name} takes no ${given.at(-1)}` : null;
}
