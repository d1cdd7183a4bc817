import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { nearestName } from '../errors/nearestName.js';
import { inputError } from '../errors/stillcountError.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';
import { type Block, plainWords, readMarkdown } from './markdown.js';

/** Next to this file's source, even when it runs compiled from `dist`. */
const guideFolder = fileURLToPath(new URL('../../src/guide', import.meta.url));
const filesFolder = join(guideFolder, 'files');

/** A chapter for people who run or use the service. */
export type Chapter = {
  /** The name used in commands and links. */
  name: string;
  title: string;
  blocks: readonly Block[];
};
export type GuidePart = { title: string; chapters: readonly Chapter[] };

const contentsSchema = z.array(
  z.strictObject({ part: z.string().min(1), chapters: z.array(z.string().regex(/^[a-z-]+$/)).min(1) }),
);

/** Reads the whole guide, and inserts the files that its chapters show. */
export async function readGuide(): Promise<GuidePart[]> {
  const contents = join(guideFolder, 'contents.yaml');
  const parts = parseHouseYaml(await readFile(contents, 'utf8'), contents, contentsSchema);
  return Promise.all(
    parts.map(async ({ part, chapters }) => ({
      title: part,
      chapters: await Promise.all(chapters.map(readChapter)),
    })),
  );
}

async function readChapter(name: string): Promise<Chapter> {
  const text = await readFile(join(guideFolder, 'chapters', `${name}.md`), 'utf8');
  const [first, ...rest] = await Promise.all(readMarkdown(text).map(withFile));
  if (first?.kind !== 'heading' || first.level !== 1) throw new RangeError(`${name}.md begins with no title`);
  return { name, title: plainWords(first.spans), blocks: [first, ...rest] };
}

/** Replaces a code fence that names a file with the file's text. */
async function withFile(block: Block): Promise<Block> {
  const name = block.kind === 'code' ? /^file (\S+)$/.exec(block.language)?.[1] : undefined;
  if (name === undefined) return block;
  return {
    kind: 'code',
    language: 'file',
    text: (await readFile(join(filesFolder, name), 'utf8')).trimEnd(),
  };
}

/** @throws StillcountError kind `input` if the guide has no such chapter */
export function chapterOf(guide: readonly GuidePart[], name: string): Chapter {
  const chapters = guide.flatMap((part) => part.chapters);
  const found = chapters.find((chapter) => chapter.name === name);
  if (found !== undefined) return found;
  throw unknownName(
    'the guide has no such chapter',
    name,
    chapters.map((chapter) => chapter.name),
  );
}

/**
 * Reads a file that the guide shows for copying.
 *
 * @throws StillcountError kind `input` for any other file
 */
export async function readGuideFile(name: string): Promise<string> {
  const names = (await readdir(filesFolder)).sort();
  if (!names.includes(name)) throw unknownName('the guide has no such file', name, names);
  return readFile(join(filesFolder, name), 'utf8');
}

function unknownName(message: string, found: string, names: readonly string[]) {
  const nearest = nearestName(found, names);
  return inputError({
    message,
    found,
    allowed: names.join(', '),
    ...(nearest === undefined ? {} : { hint: `did you mean ${nearest}?` }),
  });
}
