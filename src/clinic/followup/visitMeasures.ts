import { z } from 'zod';
import { type Actor, requireMayWrite } from '../actor.js';
import { mendable, type Refusal, refused, refuseFor } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import {
  beginTaking,
  type Entered,
  judgeTyped,
  keepTaken,
  type MeasureEntry,
  measureEntrySchema,
} from './measures.js';

/** More than the catalogue and any clinic's measures in one visit. */
const mostAtOnce = 60;

export const visitMeasuresSchema = z.array(measureEntrySchema).max(mostAtOnce);

/** A value of a visit that has to be confirmed, by its measure. */
export type Asked = { measureId: string; question: Exclude<Entered, { kind: 'kept' }> };

/**
 * Stores all values of a visit or none of them: while one has to be confirmed, nothing is stored.
 *
 * @param entries of one day; each with a value
 * @returns what has to be confirmed, in the order of the entries; empty if all were stored
 * @throws Refused as for a single value; also with every impossible value, by the id of its measure
 */
export async function enterVisit(
  service: Pick<Resources, 'store' | 'workshop' | 'words'>,
  actor: Actor,
  patientId: string,
  entries: readonly MeasureEntry[],
): Promise<Asked[]> {
  requireMayWrite(actor);
  const [first] = entries;
  if (first === undefined) {
    throw refused('values-missing', { field: 'value' });
  }
  return service.store.write(async (db) => {
    const taking = await beginTaking(db, service, actor, { patientId, takenOn: first.takenOn });
    const against: Refusal[] = [];
    const asked: Asked[] = [];
    const right: { entry: MeasureEntry; value: number }[] = [];
    for (const entry of entries) {
      try {
        const judged = judgeTyped(taking, entry);
        if (judged.kind === 'right') right.push({ entry, value: judged.value });
        else asked.push({ measureId: entry.measureId, question: judged });
      } catch (error) {
        const refusals = mendable(error);
        if (refusals === null) throw error;
        against.push(...refusals.map((refusal) => ({ ...refusal, field: entry.measureId })));
      }
    }
    refuseFor(against);
    if (asked.length > 0) return asked;
    for (const { entry, value } of right) await keepTaken(db, actor, { patientId, entry, value });
    return [];
  });
}
