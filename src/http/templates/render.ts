import { readdir, readFile } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import mustache from 'mustache';

/**
 * Pages are beside the code that serves them; this is their common root: beside this file's source, even when it runs
 * compiled from `dist`.
 */
const httpFolder = fileURLToPath(new URL('../../../src/http', import.meta.url));

/** What every page shows around its own content. */
export type Frame = {
  title: string;
  /** Null on pages for visitors who are not signed in. */
  person: { name: string; clinicName: string; formToken: string; isOwner: boolean } | null;
  /** Addresses of the style sheet and the script, which change with their content. */
  assets: { style: string; script: string };
};

/** Renders pages; Mustache escapes every value unless the page asks for markup with three braces. */
export interface Pages {
  /** @param view the page's own values. @throws RangeError for a page that does not exist. */
  page(name: string, frame: Frame, view: object): string;
  /** Renders a part of a page by itself, for a script that replaces it. */
  part(name: string, view: object): string;
}

/** Reads all pages once. */
export async function openPages(): Promise<Pages> {
  const files = await readdir(httpFolder, { recursive: true });
  const texts = await Promise.all(
    files
      .filter((file) => file.endsWith('.mustache'))
      .map(
        async (file) =>
          [basename(file, '.mustache'), await readFile(join(httpFolder, file), 'utf8')] as const,
      ),
  );
  const partials = Object.fromEntries(texts);
  const textOf = (name: string) => {
    const text = partials[name];
    if (text === undefined) throw new RangeError(`there is no page ${name}`);
    return text;
  };
  return {
    page: (name, frame, view) => {
      const formToken = frame.person?.formToken;
      const content = mustache.render(textOf(name), { ...view, formToken }, partials);
      return mustache.render(textOf('layout'), { ...frame, content }, partials);
    },
    part: (name, view) => mustache.render(textOf(name), view, partials),
  };
}
