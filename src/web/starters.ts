import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { z } from 'zod';
import { inputError } from '../errors/stillcountError.js';
import { programSchema } from '../program/schema.js';
import type { Workshop } from '../session/workshop.js';
import { parseYaml } from '../yaml/parseYaml.js';

const idSchema = z.string().regex(/^[a-z][a-z0-9-]*$/);

/** The programs that a clinic begins with, in the order of their names. */
export async function starters(
  workshop: Workshop,
): Promise<{ id: string; title: string; selected: boolean }[]> {
  const names = (await readdir(workshop.startersFolder)).filter((name) => name.endsWith('.yaml')).sort();
  return Promise.all(
    names.map(async (name) => {
      const id = name.replace(/\.yaml$/, '');
      const { title } = await readStarter(workshop, id);
      return { id, title, selected: id === 'first' };
    }),
  );
}

/**
 * The content of a new prescription that begins with a starter.
 *
 * @param listener takes the place of the starter's own
 * @throws StillcountError kind `input` when there is no such starter
 */
export async function starterContent(
  workshop: Workshop,
  id: string,
  listener: object | undefined,
): Promise<Record<string, unknown>> {
  const known = (await starters(workshop)).map((starter) => starter.id);
  if (!idSchema.safeParse(id).success || !known.includes(id)) {
    throw inputError({
      path: 'starter',
      message: 'there is no such starter program',
      allowed: known.join(', '),
    });
  }
  const program = await readStarter(workshop, id);
  return {
    format: 'stillcount-prescription/1',
    timesADay: 1,
    daysAWeek: 7,
    program: { ...program, listener, session: { number: 1, seed: 1 } },
  };
}

async function readStarter(workshop: Workshop, id: string): Promise<z.infer<typeof programSchema>> {
  const path = join(workshop.startersFolder, `${id}.yaml`);
  return parseYaml(await readFile(path, 'utf8'), path, programSchema);
}
