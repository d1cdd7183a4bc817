import { z } from 'zod';
import type { Catalogue } from '../catalogue/catalogue.js';
import { StillcountError } from '../errors/stillcountError.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { readProgram } from '../program/readProgram.js';
import { programSchema } from '../program/schema.js';
import { type Settlements, settlementsSchema } from '../screening/settlements.js';

/** What one version of a prescription holds: the program, and how often it is to be done. */
export const prescriptionContentSchema = z.strictObject({
  format: z.literal('stillcount-prescription/1'),
  timesADay: z.int().min(1).max(3).default(1),
  daysAWeek: z.int().min(1).max(7).default(7),
  /** The interview that it was signed on; the signing puts it in. */
  screeningId: z.string().optional(),
  /** How each precaution that meets an exercise was settled. */
  settlements: settlementsSchema.default({}),
  /** A program as in a program file; checked against the catalogue when it is read. */
  program: z.unknown(),
});
export type PrescriptionContent = z.infer<typeof prescriptionContentSchema>;

/** A version as the other rooms use it. */
export type ReadPrescription = {
  timesADay: number;
  daysAWeek: number;
  settlements: Settlements;
  screeningId: string | null;
  program: PrescribedProgram;
  /** The program as it was written, for editing it further. */
  source: z.input<typeof programSchema>;
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
  const outer = prescriptionContentSchema.safeParse(content);
  if (!outer.success) {
    throw new StillcountError(
      'input',
      outer.error.issues.map(({ path, message }) => ({ file: place, path: path.join('.'), message })),
    );
  }
  const { timesADay, daysAWeek, settlements, screeningId = null, program } = outer.data;
  // JSON is YAML, so a stored program goes through the same reader as a file.
  const prescribed = readProgram(JSON.stringify(program ?? null), place, catalogues);
  const source = programSchema.parse(program);
  return { timesADay, daysAWeek, settlements, screeningId, program: prescribed, source };
}
