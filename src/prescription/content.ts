import { z } from 'zod';
import type { Catalogue } from '../catalogue/catalogue.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { readProgramValue } from '../program/readProgram.js';
import { type Settlements, settlementsSchema } from '../screening/settlements.js';
import { checkedValue } from '../yaml/checkedValue.js';

/** What one version of a prescription holds: the program, and how often it is to be done. */
export const prescriptionContentSchema = z.strictObject({
  format: z.literal('stillcount-prescription/1'),
  timesADay: z.int().min(1).max(3).default(1),
  daysAWeek: z.int().min(1).max(7).default(7),
  /** How each precaution that meets an exercise was settled. */
  settlements: settlementsSchema.default({}),
  /** A program as in a program file; checked against the catalogue when it is read. */
  program: z.unknown(),
});

/** A version as the other rooms use it. */
export type ReadPrescription = {
  timesADay: number;
  daysAWeek: number;
  settlements: Settlements;
  program: PrescribedProgram;
};

/**
 * Reads the content of a version, or of a draft.
 *
 * @param place shown in messages in place of a file
 * @throws StillcountError kind `input` listing every problem found
 */
export function readPrescription(
  content: unknown,
  place: string,
  catalogues: ReadonlyMap<string, Catalogue>,
): ReadPrescription {
  const outer = checkedValue(content, place, prescriptionContentSchema);
  const { timesADay, daysAWeek, settlements, program } = outer;
  const prescribed = readProgramValue(program ?? null, place, catalogues);
  return { timesADay, daysAWeek, settlements, program: prescribed };
}
