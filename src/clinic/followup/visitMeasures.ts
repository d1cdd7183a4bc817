import { z } from 'zod';
import { type Actor, requireMayWrite } from '../actor.js';
import { findCorrectableRefusals, type Refusal, refused, throwIfRefused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import {
  checkTypedValue,
  type Entered,
  lockAndReadMeasures,
  type MeasureEntry,
  measureEntrySchema,
  saveTakenValue,
} from './measures.js';

/** More than the catalogue and any clinic's measures in one visit. */
const mostAtOnce = 60;

export const visitMeasuresSchema = z.array(measureEntrySchema).max(mostAtOnce);

/** A value of a visit that has to be confirmed, by its measure. */
export type OpenMeasureQuestion = { measureId: string; question: Exclude<Entered, { kind: 'kept' }> };

/**
 * Stores all values of a visit or none of them: while one has to be confirmed, nothing is stored.
 *
 * @param entries of one day; each with a value
 * @returns what has to be confirmed, in the order of the entries; empty if all were stored
 * @throws Refused as for a single value; also with every impossible value, by the id of its measure
 */
export async function saveVisitMeasures(
  service: Pick<Resources, 'store' | 'workshop' | 'words'>,
  actor: Actor,
  patientId: string,
  entries: readonly MeasureEntry[],
): Promise<OpenMeasureQuestion[]> {
  requireMayWrite(actor);
  const [first] = entries;
  if (first === undefined) {
    throw refused('values-missing', { field: 'value' });
  }
  return service.store.write(async (db) => {
    const taking = await lockAndReadMeasures(db, service, actor, { patientId, takenOn: first.takenOn });
    const against: Refusal[] = [];
    const openQuestions: OpenMeasureQuestion[] = [];
    const right: { entry: MeasureEntry; value: number }[] = [];
    for (const entry of entries) {
      try {
        const judged = checkTypedValue(taking, entry);
        if (judged.kind === 'right') right.push({ entry, value: judged.value });
        else openQuestions.push({ measureId: entry.measureId, question: judged });
      } catch (error) {
        const refusals = findCorrectableRefusals(error);
        if (refusals === null) throw error;
        against.push(...refusals.map((refusal) => ({ ...refusal, field: entry.measureId })));
      }
    }
    throwIfRefused(against);
    if (openQuestions.length > 0) return openQuestions;
    for (const { entry, value } of right) await saveTakenValue(db, actor, { patientId, entry, value });
    return [];
  });
}
