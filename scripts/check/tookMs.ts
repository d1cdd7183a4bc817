import { readdir, readFile } from 'node:fs/promises';
import path from 'node:path';
import { z } from 'zod';

/**
 * The part of vitest's own cache that we read, also written by `npm test`. If the format changes, no times are known.
 */
const keptSchema = z.object({
  results: z.array(z.tuple([z.string(), z.object({ duration: z.number(), failed: z.boolean() })])),
});
const project = 'rooms:';

/** Reads how long each test file of the `rooms` project took in its last run here, and which of them failed. */
export async function readLastRun(root: string): Promise<{ tookMs: Map<string, number>; failed: string[] }> {
  const folder = path.join(root, 'node_modules/.vite/vitest');
  const names = await readdir(folder).catch(() => []);
  const kept = await Promise.all(names.map((name) => readKept(path.join(folder, name, 'results.json'))));
  const rooms = kept.flat().filter(([name]) => name.startsWith(project));
  return {
    tookMs: new Map(rooms.map(([name, { duration }]) => [name.slice(project.length), duration])),
    failed: rooms.filter(([, { failed }]) => failed).map(([name]) => name.slice(project.length)),
  };
}

async function readKept(file: string): Promise<z.infer<typeof keptSchema>['results']> {
  try {
    return keptSchema.parse(JSON.parse(await readFile(file, 'utf8'))).results;
  } catch {
    return [];
  }
}
