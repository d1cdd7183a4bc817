/** One step of a recipe, as it is written down. */
export type Step =
  | { kind: 'create'; file: string; text: string }
  | { kind: 'change'; file: string; diff: readonly string[] }
  | { kind: 'run'; command: string; printed: readonly string[] };

/** The text of one section, from its heading to the next one of the same level or a higher one. */
export function sectionOf(document: string, heading: string): string {
  const lines = document.split('\n');
  const from = lines.indexOf(heading);
  if (from === -1) throw new Error(`there is no section ${heading}`);
  const level = heading.indexOf(' ');
  const length = lines.slice(from + 1).findIndex((line) => /^#+ /.test(line) && line.indexOf(' ') <= level);
  return lines.slice(from, length === -1 ? undefined : from + 1 + length).join('\n');
}

/**
 * Every step of a section, in order. A diff changes the file that the line before it names last, any other block is the
 * whole of that file; after `$` stands a command, with what it prints below it. A block of `sh` is for people only.
 */
export function stepsOf(section: string): Step[] {
  const blocks = [...section.matchAll(/([^\n]*)\n\n^```(\w+)\n([\s\S]*?)^```$/gm)];
  return blocks.flatMap(([, before = '', language = '', text = '']): Step[] => {
    if (language === 'sh') return [];
    if (language === 'console') return commandsIn(text);
    const file = /`([^`]+)`:$/.exec(before)?.[1];
    if (file === undefined) throw new Error(`no file is named before this block:\n${text}`);
    return language === 'diff'
      ? [{ kind: 'change', file, diff: text.trimEnd().split('\n') }]
      : [{ kind: 'create', file, text }];
  });
}

/** The commands of a block, each with what is printed below it. */
function commandsIn(text: string): Extract<Step, { kind: 'run' }>[] {
  const parts = text.split(/^\$ /m).slice(1);
  return parts.map((part) => {
    const [command = '', ...printed] = part.trimEnd().split('\n');
    return { kind: 'run', command, printed };
  });
}

/**
 * Applies a diff without line numbers: what it keeps and takes away must be in the text exactly once.
 *
 * @throws Error naming the lines that are missing, or there more than once
 */
export function changed(text: string, diff: readonly string[]): string {
  const side = (sign: '+' | '-') =>
    diff
      .filter((line) => line[0] === sign || line[0] === ' ' || line === '')
      .map((line) => `${line.slice(1)}\n`)
      .join('');
  const [before, after] = [side('-'), side('+')];
  const times = text.split(before).length - 1;
  if (times !== 1) throw new Error(`expected once, found ${times} times:\n${before}`);
  return text.replace(before, () => after);
}

/** Lengths, levels and places differ from one machine to another; everything else is the same. */
const withoutNumbers = (line: string) =>
  line
    .trimEnd()
    .replaceAll(/-?\d+([.:]\d+)*/g, 'N')
    .replaceAll(/ +/g, ' ');

/**
 * The first line that a document shows and a program did not print in this order; null when all are there. "..." stands
 * for lines that are left out, at the end too.
 */
export function missingLine(shown: readonly string[], stdout: string): string | null {
  const lines = stdout.split('\n').map(withoutNumbers);
  let at = 0;
  let mayLeaveOut = false;
  for (const line of shown) {
    if (line === '...') {
      mayLeaveOut = true;
      continue;
    }
    const found = lines.indexOf(withoutNumbers(line), at);
    if (found === -1 || (!mayLeaveOut && found !== at)) return line;
    at = found + 1;
    mayLeaveOut = false;
  }
  return null;
}
