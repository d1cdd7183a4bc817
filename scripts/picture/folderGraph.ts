import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { readImporters, sourceFiles } from '../check/sources.js';

/** A folder with everything in it, and the other folders of the same level that its files import. */
export type Folder = { name: string; files: number; lines: number; needs: readonly string[] };

/** The code in `src`: the importers of each file, and its length in lines. */
export type Code = { importers: ReadonlyMap<string, readonly string[]>; lines: ReadonlyMap<string, number> };

export async function readCode(root: string): Promise<Code> {
  const files = (await sourceFiles(root)).filter((file) => /^src\/.*\.ts$/.test(file)).sort();
  const lines = await Promise.all(
    files.map(async (file): Promise<[string, number]> => {
      const text = await readFile(path.join(root, file), 'utf8');
      return [file, text.split('\n').length - 1];
    }),
  );
  return { importers: await readImporters(root, files), lines: new Map(lines) };
}

/**
 * Groups code by folder.
 *
 * @param folderOf returns the folder of a file, or null to leave it out
 */
export function foldersOf({ importers, lines }: Code, folderOf: (file: string) => string | null): Folder[] {
  const found = new Map<string, { files: number; lines: number; needs: Set<string> }>();
  const entry = (name: string) => {
    const folder = found.get(name) ?? { files: 0, lines: 0, needs: new Set<string>() };
    found.set(name, folder);
    return folder;
  };
  for (const [file, count] of lines) {
    const name = folderOf(file);
    if (name === null) continue;
    const folder = entry(name);
    folder.files += 1;
    folder.lines += count;
    for (const importer of importers.get(file) ?? []) {
      const other = folderOf(importer);
      if (other !== null && other !== name) entry(other).needs.add(name);
    }
  }
  return [...found]
    .map(([name, { needs, ...counts }]) => ({ name, ...counts, needs: [...needs].sort() }))
    .sort((a, b) => a.name.localeCompare(b.name));
}

/** Returns the folders that depend on each other, directly or through others. */
export function inCircles(folders: readonly Folder[]): string[] {
  const reached = reachedFrom(folders);
  return folders.filter(({ name }) => reached(name).has(name)).map(({ name }) => name);
}

/** Returns the arrows that no path through another folder implies: these are enough to read the order from. */
export function directArrows(folders: readonly Folder[]): [from: string, to: string][] {
  const reached = reachedFrom(folders);
  return folders.flatMap(({ name, needs }) =>
    needs
      .filter((to) => !needs.some((over) => over !== to && reached(over).has(to) && !reached(to).has(over)))
      .map((to): [string, string] => [name, to]),
  );
}

/** Returns everything that a folder needs, directly or through others. */
function reachedFrom(folders: readonly Folder[]): (name: string) => ReadonlySet<string> {
  const needs = new Map(folders.map((folder) => [folder.name, folder.needs]));
  const known = new Map<string, Set<string>>();
  return (name) => {
    const kept = known.get(name);
    if (kept !== undefined) return kept;
    const reached = new Set<string>();
    const waiting = [...(needs.get(name) ?? [])];
    for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
      if (reached.has(next)) continue;
      reached.add(next);
      waiting.push(...(needs.get(next) ?? []));
    }
    known.set(name, reached);
    return reached;
  };
}
