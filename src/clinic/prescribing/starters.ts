import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { z } from 'zod';
import { prescriptionContentSchema } from '../../prescription/content.js';
import { looseProgram, unchosenSide, valueAtPath } from '../../prescription/looseProgram.js';
import { programSchema } from '../../program/schema.js';
import type { Workshop } from '../../session/workshop.js';
import { clinicProgramsOf } from '../../store/prescribing/clinicPrograms.js';
import { parseHouseYaml } from '../../yaml/parseYaml.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';

/** A new program has a lighter session for a hard day, which she can see and remove. Our choice; no source. */
export const easierAtFirst = { lighter: true };

export type Starter = { id: string; title: string; isOwn: boolean; selected: boolean };

/** The programs a prescription can start from: clinic programs first, then starter programs. */
export async function listStarters(
  { store, workshop }: Pick<Resources, 'store' | 'workshop'>,
  clinicId: string,
): Promise<Starter[]> {
  const own = await store.read((db) => clinicProgramsOf(db, clinicId));
  const names = (await readdir(workshop.startersFolder)).filter((name) => name.endsWith('.yaml')).sort();
  const house = await Promise.all(
    names.map(async (name) => {
      const id = name.replace(/\.yaml$/, '');
      const { title } = await readStarter(workshop, id);
      return { id, title, isOwn: false, selected: id === 'first' };
    }),
  );
  return [...own.map(({ id, title }) => ({ id, title, isOwn: true, selected: false })), ...house];
}

/**
 * The content of a new prescription based on a starter.
 *
 * @param listener replaces the starter's own
 * @throws Refused if the clinic has no such starter
 */
export async function starterContent(
  service: Pick<Resources, 'store' | 'workshop'>,
  { id, clinicId }: { id: string; clinicId: string },
  listener: object | undefined,
): Promise<Record<string, unknown>> {
  const session = { number: 1, seed: 1 };
  const own = await service.store.read((db) => clinicProgramsOf(db, clinicId));
  const found = own.find((program) => program.id === id);
  if (found !== undefined) {
    const content = prescriptionContentSchema.parse(JSON.parse(found.content));
    const program = typeof content.program === 'object' ? content.program : {};
    // Its dates belonged to the patient it was made for.
    const days = { startsOn: null, endsOn: null, reviewOn: null };
    return { ...content, ...days, program: { ...withSidesOpen(program), listener, session } };
  }
  const known = await listStarters(service, clinicId);
  if (!known.some((starter) => starter.id === id)) {
    const allowed = known.map((starter) => starter.id).join(', ');
    throw refused('no-such-starter', { field: 'starter', allowed });
  }
  const program = await readStarter(service.workshop, id);
  return {
    format: 'stillcount-prescription/1',
    timesADay: 1,
    daysAWeek: 7,
    easier: easierAtFirst,
    program: { ...withSidesOpen(program), listener, session },
  };
}

/** The side differs between patients: it must be chosen again before anything can be signed. */
function withSidesOpen(program: unknown): object {
  const { exercises } = looseProgram(program);
  const opened = exercises.map((entry) =>
    entry.side === 'left' || entry.side === 'right' ? { ...entry, side: unchosenSide } : entry,
  );
  return { ...(typeof program === 'object' ? program : {}), exercises: opened };
}

/** Every note in the supplied starters: text that concerns no patient. */
export async function starterNotes(workshop: Workshop): Promise<ReadonlySet<string>> {
  const names = (await readdir(workshop.startersFolder)).filter((name) => name.endsWith('.yaml'));
  const programs = await Promise.all(names.map((name) => readStarter(workshop, name.replace(/\.yaml$/, ''))));
  return new Set(programs.flatMap(({ exercises }) => exercises.flatMap(({ note }) => note ?? [])));
}

/**
 * A prescription's content without the patient: what a clinic saves to start others from.
 *
 * @param houseNotes spoken notes that may stay because they are supplied; the clinician's own may name the patient
 */
export function removePersonalData(content: unknown, title: string, houseNotes: ReadonlySet<string>): object {
  // Times of day depend on the patient; frequency and easier options may suit others.
  const { format, timesADay, daysAWeek, easier, program } = prescriptionContentSchema.parse(content);
  const exercises = valueAtPath(program, 'exercises');
  const shared = Array.isArray(exercises)
    ? exercises.map((entry: { note?: unknown }) => ({
        ...entry,
        note: houseNotes.has(String(entry.note)) ? entry.note : undefined,
        isNew: undefined,
        setUp: undefined,
      }))
    : [];
  const source = typeof program === 'object' ? program : {};
  const spoken = { listener: undefined, pronunciations: undefined, session: undefined };
  const ofPerson = { ...spoken, breath: undefined, setUp: undefined, changeTimes: undefined };
  return {
    format,
    timesADay,
    daysAWeek,
    easier,
    program: { ...source, ...ofPerson, title, exercises: shared },
  };
}

async function readStarter(workshop: Workshop, id: string): Promise<z.infer<typeof programSchema>> {
  const path = join(workshop.startersFolder, `${id}.yaml`);
  return parseHouseYaml(await readFile(path, 'utf8'), path, programSchema);
}
