import { readdir, readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import ts from 'typescript';

/** Where the files lie whose change can change what a test finds. */
const folders = ['src', 'scripts', 'tests', 'audio-templates'];

/** Every file of the project's own that a test can depend on: relative, with `/`. */
export async function sourceFiles(root: string): Promise<string[]> {
  const lists = await Promise.all(folders.map((folder) => filesBelow(root, folder)));
  return lists.flat();
}

async function filesBelow(root: string, folder: string): Promise<string[]> {
  const entries = await readdir(path.join(root, folder), { recursive: true, withFileTypes: true }).catch(
    () => [],
  );
  return entries
    .filter((entry) => entry.isFile())
    .map((entry) => path.relative(root, path.join(entry.parentPath, entry.name)).split(path.sep).join('/'));
}

/** The files that lie in the root itself, by which compiler, tools and tests are set. */
async function settingFiles(root: string): Promise<string[]> {
  const entries = await readdir(root, { withFileTypes: true });
  return entries.filter((entry) => entry.isFile()).map(({ name }) => name);
}

/** For each file, who imports it. Imports of packages do not count. */
export async function readImporters(root: string, files: readonly string[]): Promise<Map<string, string[]>> {
  const known = new Set(files);
  const importers = new Map<string, string[]>();
  const code = files.filter((file) => /\.(ts|mjs)$/.test(file));
  await Promise.all(
    code.map(async (file) => {
      const { importedFiles } = ts.preProcessFile(await readFile(path.join(root, file), 'utf8'), true, true);
      for (const { fileName } of importedFiles) {
        if (!fileName.startsWith('.')) continue;
        const target = path.posix.join(path.posix.dirname(file), fileName);
        const found = [target.replace(/\.js$/, '.ts'), target].find((name) => known.has(name));
        if (found !== undefined) importers.set(found, [...(importers.get(found) ?? []), file]);
      }
    }),
  );
  return importers;
}

/** When each file was last written, and its size: what differs between two of these was changed in between. */
export async function readStamps(root: string): Promise<Map<string, string>> {
  const files = [...(await sourceFiles(root)), ...(await settingFiles(root))];
  const stamps = await Promise.all(
    files.map(async (file): Promise<[string, string]> => {
      const found = await stat(path.join(root, file)).catch(() => null);
      return [file, found === null ? 'gone' : `${found.mtimeMs} ${found.size}`];
    }),
  );
  return new Map(stamps);
}

/** The files that are new, gone or written anew. */
export function changedBetween(
  before: ReadonlyMap<string, string>,
  after: ReadonlyMap<string, string>,
): string[] {
  const names = new Set([...before.keys(), ...after.keys()]);
  return [...names].filter((name) => before.get(name) !== after.get(name)).sort();
}
