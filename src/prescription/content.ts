import { z } from 'zod';
import type { Catalogue } from '../catalogue/catalogue.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { readProgramValue } from '../program/readProgram.js';
import { type Settlements, settlementsSchema } from '../screening/settlements.js';
import { checkedValue } from '../yaml/checkedValue.js';

const timeOfDay = z
  .string()
  .regex(/^([01]\d|2[0-3]):[0-5]\d$/, { error: 'not a time of day such as 08:00 or 17:30' });

/** What one version of a prescription holds: the program, and how often and when it is to be done. */
export const prescriptionContentSchema = z.strictObject({
  format: z.literal('stillcount-prescription/1'),
  timesADay: z.int().min(1).max(3).default(1),
  daysAWeek: z.int().min(1).max(7).default(7),
  /** `HH:MM` in the patient's zone, one for each session of a day; empty for the usual times. */
  timesOfDay: z
    .array(timeOfDay)
    .max(3)
    .refine((times) => times.every((time, index) => index === 0 || time > (times[index - 1] ?? '')), {
      error: 'times of day stand in order, each once',
    })
    .default([]),
  /** How each precaution that meets an exercise was settled. */
  settlements: settlementsSchema.default({}),
  /** A program as in a program file; checked against the catalogue when it is read. */
  program: z.unknown(),
});

/** Apart from the fields, which the API describes one by one. */
const checkedContentSchema = prescriptionContentSchema.refine(
  ({ timesADay, timesOfDay }) => timesOfDay.length === 0 || timesOfDay.length === timesADay,
  { error: 'one time for each session of the day, or none at all for the usual times', path: ['timesOfDay'] },
);

/** A version as the other rooms use it. */
export type ReadPrescription = {
  timesADay: number;
  daysAWeek: number;
  timesOfDay: readonly string[];
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
  const outer = checkedValue(content, place, checkedContentSchema);
  const { program, ...often } = outer;
  const prescribed = readProgramValue(program ?? null, place, catalogues);
  return { ...often, program: prescribed };
}
