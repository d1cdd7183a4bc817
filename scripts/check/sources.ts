import { readdir, readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import ts from 'typescript';

/** The folders whose files can affect the result of a test. */
const folders = ['src', 'scripts', 'tests', 'audio-templates'];

/** Lists every project file that a test can depend on: relative, with `/`. */
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

/** Lists the files in the root that configure compiler, tools and tests. */
async function settingFiles(root: string): Promise<string[]> {
  const entries = await readdir(root, { withFileTypes: true });
  return entries.filter((entry) => entry.isFile()).map(({ name }) => name);
}

/** Returns the importers of each file. Imports of packages do not count. */
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

/** Returns the modification time and size of each file; a file changed if they differ between two calls. */
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

/** Lists the files that are new, deleted or rewritten. */
export function changedBetween(
  before: ReadonlyMap<string, string>,
  after: ReadonlyMap<string, string>,
): string[] {
  const names = new Set([...before.keys(), ...after.keys()]);
  return [...names].filter((name) => before.get(name) !== after.get(name)).sort();
}
