import type { Command } from 'commander';
import { inputError } from '../../errors/stillcountError.js';
import type { Chapter, GuidePart } from '../../guide/readGuide.js';
import { print, printJson } from '../print.js';

type Options = { list?: true; json?: true; file?: string };

/** `stillcount guide`: how to use and run the service, the same text as under Help. */
export function addGuideCommand(command: Command): void {
  command
    .command('guide')
    .description('print the guide for clinicians and administrators, or one chapter of it')
    .argument('[chapter]', 'name of the chapter, as --list shows it')
    .option('--list', 'list the chapters')
    .option('--json', 'print the list as JSON')
    .option('--file <name>', 'print a file from the guide, to save and edit')
    .action(async (name: string | undefined, options: Options) => {
      // Loaded here, so that all other commands start without the guide.
      const { asText } = await import('../../guide/asText.js');
      const { chapterOf, readGuide, readGuideFile } = await import('../../guide/readGuide.js');
      const partText = ({ title, chapters }: GuidePart) =>
        [`${title.toUpperCase()}\n`, ...chapters.map(({ blocks }) => asText(blocks))].join('\n');
      if (options.file !== undefined) {
        process.stdout.write(await readGuideFile(options.file));
        return;
      }
      const guide = await readGuide();
      if (options.json === true) {
        if (options.list !== true)
          throw inputError({ message: '--json goes with --list only', path: '--json' });
        printJson(guide.map(({ title, chapters }) => ({ title, chapters: chapters.map(named) })));
      } else if (options.list === true) print(listOf(guide));
      else if (name === undefined) print(guide.map(partText).join('\n'));
      else process.stdout.write(asText(chapterOf(guide, name).blocks));
    });
}

const named = ({ name, title }: Chapter) => ({ name, title });

function listOf(guide: readonly GuidePart[]): string {
  const width = Math.max(...guide.flatMap(({ chapters }) => chapters.map(({ name }) => name.length)));
  return guide
    .map(({ title, chapters }) =>
      [title, ...chapters.map((chapter) => `  ${chapter.name.padEnd(width)}  ${chapter.title}`)].join('\n'),
    )
    .join('\n\n');
}
